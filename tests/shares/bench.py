"""One bench inside its guest: saves into a case on the share, and says what was saved.

``python -m tests.shares.bench CASE NAME SAVES``; a line ``SAVED NAME-N`` follows each save that
did not raise.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Final

from livecheck.casefile import CaseFolder, Shop
from livecheck.records import Complaint, Inventory, Machine, Proved, Run
from livecheck.saving import note

EACH: Final = 10
"""After so many runs the case is changed in the other ways, too."""
WHEN: Final = "2026-03-02T00:00:00Z"


def main(case_folder: str, name: str, saves: str) -> None:
    """As many runs as told; every tenth time a noted spare, an outcome and a case of its own."""
    case = CaseFolder(Path(case_folder))
    shop = Shop(case.path.parent.parent)
    print("PROCESS", os.getpid(), flush=True)
    for n in range(int(saves)):
        said = f"{name}-{n}"
        case.save_run(Run(number=case.claim_run(), started=said))
        if n % EACH == 0:
            note(case, spares=[f"serial:{said}"])
            case.add_proved(Proved(case="x", recorded=said, component="drive", kind="drive",
                                   proved=False))  # fmt: skip
            machine = Inventory(machine=Machine(product="Wander", serial=said))
            shop.open_case(machine, said, Complaint.SLOW, WHEN)
        print("SAVED", said, flush=True)
    print("ENDED", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
