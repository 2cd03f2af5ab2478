"""Two benches write to one share at the same moment: nothing is lost, nothing taken twice."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from livecheck.casefile import Shop, lock
from livecheck.records import Complaint, Inventory, Machine

ROUNDS = 25
BENCH = """
import sys
from pathlib import Path
from livecheck.casefile import CaseFolder, Shop
from livecheck.records import Complaint, Inventory, Machine, Proved, Run
from livecheck.saving import note
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


HOLDER = """
import sys
from pathlib import Path
from livecheck.casefile import lock
with lock.held(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.readline()
"""


def _holder(folder: Path) -> subprocess.Popen[bytes]:
    """A bench that holds the lock until it is told or killed."""
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(folder)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == b"held\n"
    return holder


def test_the_lock_of_a_bench_that_died_is_free_at_once(tmp_path: Path) -> None:
    """flock(2): closed with its last descriptor, whatever ended the process."""
    case = Shop(tmp_path).open_case(Inventory(), "T", Complaint.SLOW, "2026-03-01T00:00:00Z")
    holder = _holder(case.path)
    holder.kill()
    holder.communicate()
    began = time.monotonic()
    case.change_case(lambda kept: kept)
    assert time.monotonic() - began < 1.0


def test_nobody_takes_the_lock_of_a_living_bench(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However long it holds it: who waits gives up and says so."""
    monkeypatch.setattr(lock, "WAIT_SECONDS", 0.3)
    case = Shop(tmp_path).open_case(Inventory(), "T", Complaint.SLOW, "2026-03-01T00:00:00Z")
    holder = _holder(case.path)
    for _ in range(3):
        with pytest.raises(OSError, match="another bench is changing it"):
            case.change_case(lambda kept: kept)
    holder.communicate(b"go\n")
    case.change_case(lambda kept: kept)


@pytest.mark.parametrize("left", ["folder", "link", "pipe"])
def test_what_stands_in_the_locks_place_holds_nobody_up(tmp_path: Path, left: str) -> None:
    """It costs changes of that case, with a reason, and no waiting."""
    case = Shop(tmp_path).open_case(Inventory(), "T", Complaint.SLOW, "2026-03-01T00:00:00Z")
    file = case.path / lock.NAME
    if left == "folder":
        file.mkdir()
    elif left == "link":
        file.symlink_to(tmp_path / "elsewhere")
    else:
        os.mkfifo(file)
    with pytest.raises(OSError, match=r"\.lock is a "):
        case.change_case(lambda kept: kept)
    assert not (tmp_path / "elsewhere").exists()
    (case.path / ".changing").mkdir()


CHANGER = """
import sys
from pathlib import Path
import msgspec
from livecheck.casefile import CaseFolder
case, name = CaseFolder(Path(sys.argv[1])), sys.argv[2]
sys.stdin.readline()
for n in range(20):
    def change(kept):
        return msgspec.structs.replace(kept, spares=(*kept.spares, f"{name}-{n}"))
    case.change_case(change)
"""
SAVER = """
import os, sys
from pathlib import Path
os.getpid = lambda: 4711
from livecheck.casefile import atomic
file, name = Path(sys.argv[1]) / "case.json", sys.argv[2]
sys.stdin.readline()
for n in range(80):
    atomic.save(file, f"{name} {n}".encode() * 500)
"""
OPENER = """
import sys
from pathlib import Path
from livecheck.casefile import Shop
from livecheck.records import Complaint, Inventory
shop, inventory = Shop(Path(sys.argv[1])), Inventory()
sys.stdin.readline()
with shop.opening():
    found = shop.find(inventory, "T-9", Complaint.SLOW)
    found or shop.open_case(inventory, "T-9", Complaint.SLOW, "2026-03-02T00:00:00Z")
"""


def _at_once(program: str, where: Path, benches: int) -> None:
    """So many processes that begin together; all must end well."""
    running = [
        subprocess.Popen([sys.executable, "-c", program, str(where), f"b{n}"],
                         stdin=subprocess.PIPE, stderr=subprocess.PIPE)
        for n in range(benches)
    ]  # fmt: skip
    time.sleep(1.0)
    for bench in running:
        assert bench.stdin is not None
        bench.stdin.write(b"go\n")
        bench.stdin.flush()
    for bench in running:
        _, err = bench.communicate(timeout=120)
        assert bench.returncode == 0, err.decode()


def test_no_change_of_eight_benches_is_lost(tmp_path: Path) -> None:
    """Also with what an older version left of its lock beside the case."""
    case = Shop(tmp_path).open_case(Inventory(), "T", Complaint.SLOW, "2026-03-01T00:00:00Z")
    (case.path / ".changing").mkdir()
    _at_once(CHANGER, case.path, 8)
    assert set(case.case().spares) == {f"b{bench}-{n}" for bench in range(8) for n in range(20)}


def test_benches_with_equal_process_numbers_lose_no_save(tmp_path: Path) -> None:
    """Sticks are alike, so are the process numbers on them; the file is always a whole one."""
    _at_once(SAVER, tmp_path, 4)
    last = (tmp_path / "case.json").read_text()
    assert last in {f"b{bench} 79" * 500 for bench in range(4)}
    assert [entry.name for entry in tmp_path.iterdir()] == ["case.json"]


def test_one_ticket_opened_at_once_is_one_case(tmp_path: Path) -> None:
    _at_once(OPENER, tmp_path, 8)
    assert [entry.case.ticket for entry in Shop(tmp_path).entries() if entry.case] == ["T-9"]
