"""The shop's own parts, as its other cases know them: nobody has to say it of each machine."""

from __future__ import annotations

import contextlib
from pathlib import Path

from livecheck.casefile.folder import CaseFolder
from livecheck.casefile.shop import Shop
from livecheck.records import DamagedRecord, Inventory


def own_spares(shop: Shop, besides: Path, inventory: Inventory) -> tuple[str, ...]:
    """Identities of fitted parts that the shop vouched for in another case than the one in
    ``besides``, and took out again; one that stayed in that machine was sold with it."""
    fitted = {part.identity for part in inventory.parts if part.identity and not part.bench_own}
    found: set[str] = set()
    for entry in shop.entries() if fitted else []:
        folder = Path(entry.path)
        named = fitted.intersection(entry.case.spares) if entry.case is not None else set()
        if not named or folder == besides:
            continue
        with contextlib.suppress(OSError, DamagedRecord):
            home = [run for run in CaseFolder(folder).load().runs if not run.in_known_good_machine]
            left_in = {part.identity for run in home[-1:] for part in run.inventory.parts}
            found |= {one for one in named if one not in left_in}
    return tuple(sorted(found))
