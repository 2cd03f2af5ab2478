"""Two benches write to one share at the same moment: nothing is lost, nothing taken twice."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest

from livecheck.casefile import CaseFolder, Shop
from livecheck.casefile import folder as folders
from livecheck.records import Complaint, Inventory, Machine

ROUNDS = 25
BENCH = """
import sys
from pathlib import Path
from livecheck.casefile import CaseFolder, Shop
from livecheck.records import Complaint, Inventory, Machine, Proved, Run
case, name, rounds = CaseFolder(Path(sys.argv[1])), sys.argv[2], int(sys.argv[3])
shop = Shop(case.path.parent.parent)
sys.stdin.readline()
for n in range(rounds):
    run = Run(number=case.claim_run(), started=f"{name}-{n}")
    case.save_run(run)
    note(case, spares=[f"serial:{name}-{n}"])
    case.add_proved(Proved(case="x", recorded=f"{name}-{n}", component="drive", kind="drive",
                           proved=False))
    shop.open_case(Inventory(machine=Machine(product="Wander")), None, Complaint.SLOW,
                   "2026-03-02T00:00:00Z")
"""


def test_two_processes_lose_nothing(tmp_path: Path) -> None:
    """Runs, outcomes, noted spares and opened cases of both are all there afterwards."""
    shop = Shop(tmp_path)
    machine = Inventory(machine=Machine(product="Wander 14"))
    case = shop.open_case(machine, "T", Complaint.SLOW, "2026-03-01T00:00:00Z")
    benches = [
        subprocess.Popen(
            [sys.executable, "-c", BENCH, str(case.path), name, str(ROUNDS)], stdin=subprocess.PIPE
        )
        for name in ("left", "right")
    ]
    time.sleep(1.0)
    for bench in benches:
        bench.communicate(b"go\n", timeout=120)
    assert [bench.returncode for bench in benches] == [0, 0]
    wanted = {f"{name}-{n}" for name in ("left", "right") for n in range(ROUNDS)}
    loaded = case.load()
    assert loaded.damaged == ()
    assert {run.started for run in loaded.runs} == wanted
    assert [run.number for run in loaded.runs] == list(range(1, 2 * ROUNDS + 1))
    assert set(loaded.case.spares) == {f"serial:{one}" for one in wanted}
    proved, damaged = case.proved()
    assert damaged == ()
    assert {one.recorded for one in proved} == wanted
    assert len(shop.entries()) == 1 + 2 * ROUNDS
    assert not (case.path / folders.LOCK).exists()


def test_a_lock_left_by_a_power_cut_is_broken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = Shop(tmp_path).open_case(Inventory(), "T", Complaint.SLOW, "2026-03-01T00:00:00Z")
    (case.path / folders.LOCK).mkdir()
    monkeypatch.setattr(folders, "LOCK_SECONDS", 0.1)
    CaseFolder(case.path).change_case(lambda kept: kept)
    assert not (case.path / folders.LOCK).exists()
