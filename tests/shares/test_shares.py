"""The trial on shares: its judge always, the trial itself where servers and a kernel are at hand.

``LIVECHECK_TEST_KERNEL`` names an unpacked linux-image package (see ``__main__``).
"""

from __future__ import annotations

import os
import shutil
import threading
from pathlib import Path

import pytest

from livecheck.casefile import CaseFolder, Shop
from livecheck.records import Complaint, Inventory, Machine
from tests.shares import bench, guest, servers, trial

KERNEL = Path(os.environ.get("LIVECHECK_TEST_KERNEL", "/none"))


@pytest.fixture
def case(tmp_path: Path) -> CaseFolder:
    """Eleven saves of two benches at once, on this machine's own file system."""
    machine = Inventory(machine=Machine(product="Wander 14"))
    opened = Shop(tmp_path).open_case(machine, "T", Complaint.SLOW, bench.WHEN)
    benches = [threading.Thread(target=bench.main, args=(str(opened.path), name, "11"))
               for name in trial.BENCHES]  # fmt: skip
    for one in benches:
        one.start()
    for one in benches:
        one.join()
    return opened


SAID = {name: [f"{name}-{n}" for n in range(11)] for name in trial.BENCHES}


def test_what_was_saved_stands_there(case: CaseFolder) -> None:
    assert list(trial.wrong_of(case, SAID)) == []


def test_what_is_lost_or_mixed_is_named(case: CaseFolder) -> None:
    """A run, a case, an outcome that are gone; a run that took another's place."""
    gone = case.load().runs[4].started
    shutil.rmtree(case.run_file(5).parent)
    shutil.rmtree(next(case.path.parent.glob("*-left-10")))
    shutil.rmtree(case.path / "outcomes/0001")
    wrong = list(trial.wrong_of(case, SAID))
    assert f"lost: {gone}" in wrong and "lost case: left-10" in wrong
    assert any(one.startswith("lost outcome: ") for one in wrong)
    case.run_file(7).write_bytes(case.run_file(8).read_bytes())
    wrong = list(trial.wrong_of(case, SAID))
    assert "a run stands there twice" in wrong or sum("lost: " in one for one in wrong) == 2


@pytest.mark.boot
@pytest.mark.parametrize("sort", servers.PROGRAMS)
@pytest.mark.parametrize("killed", [False, True])
def test_two_machines_on_a_share(sort: str, killed: bool, tmp_path: Path) -> None:
    why = guest.missing(KERNEL) or servers.missing(sort)
    if why is not None:
        pytest.skip(f"cannot be tried here: {why}")
    found = trial.played(sort, KERNEL, tmp_path, 30, killed)
    assert found["wrong"] == []
    assert found["processes"][0] == found["processes"][1] != []
