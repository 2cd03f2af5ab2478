"""The test's own process: however it ends, what it covered and found is known."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from livecheck.native.backgrounds import BACKGROUNDS
from livecheck.native.messages import Pass, Snapshot
from livecheck.native.notation import TESTS
from livecheck.native.region import Budget
from livecheck.native.worker import Follower, Job
from tests.native.locking import needs_locked

MIB = 1 << 20
PLENTY = 1 << 40


def job(size: int, seconds: float = 60.0, *, repeat: bool = False, test: str = "March C-") -> Job:
    return Job(
        passes=(
            Pass(0, TESTS[test], BACKGROUNDS["address"]),
            Pass(0, TESTS[test], BACKGROUNDS["random"]),
        ),
        budget=Budget(size, 16 * MIB, 16 * MIB),
        cpus=tuple(sorted(os.sched_getaffinity(0))),
        seconds=seconds,
        repeat=repeat,
    )


def until(follower: Follower, when: Callable[[Snapshot], bool], act: Callable[[], None]) -> None:
    """Follow to the end, doing something once when a snapshot fits."""
    done = False
    for snapshot in follower.follow():
        if snapshot is not None and not done and when(snapshot):
            act()
            done = True
    assert done, follower.last


def test_runs_to_the_end() -> None:
    needs_locked(64 * MIB)
    with Follower(job(64 * MIB), lambda: PLENTY) as follower:
        snapshots = [s for s in follower.follow() if s is not None]
    last = snapshots[-1]
    assert (follower.status, last.finished, last.wrong_words) == (0, True, 0)
    assert last.passes == ("March C-, address", "March C-, random")
    assert last.moved == 2 * 10 * 64 * MIB
    assert last.most == 64 * MIB


def test_time_ends_it_after_whole_passes() -> None:
    with Follower(job(32 * MIB, 1.5, repeat=True), lambda: PLENTY) as follower:
        begun = time.monotonic()
        for _ in follower.follow():
            pass
    assert time.monotonic() - begun < 10
    assert follower.last.finished
    assert len(follower.last.passes) > 2


@pytest.mark.parametrize("signal_number", [signal.SIGTERM, signal.SIGINT])
def test_asked_to_stop_it_tells_what_it_covered(signal_number: signal.Signals) -> None:
    """Console stop and Ctrl+C."""
    with Follower(job(64 * MIB, 600, repeat=True), lambda: PLENTY) as follower:
        until(
            follower,
            lambda s: len(s.passes) >= 1,
            lambda: os.kill(follower.pid, signal_number),
        )
    assert follower.status == 0
    assert not follower.last.finished
    assert follower.last.passes
    # March C- goes ten times over what could be locked, which is less for an ordinary user.
    assert follower.last.moved >= 10 * follower.last.held > 0


def test_killed_it_leaves_its_last_snapshot() -> None:
    """As by the kernel when memory runs out."""
    with Follower(job(64 * MIB, 600, repeat=True), lambda: PLENTY) as follower:
        until(
            follower,
            lambda s: len(s.passes) >= 2,
            lambda: os.kill(follower.pid, signal.SIGKILL),
        )
    assert follower.status == -signal.SIGKILL
    assert len(follower.last.passes) >= 2


@pytest.mark.slow
def test_gives_memory_back_when_others_need_it(tmp_path: Path) -> None:
    """Half the memory is taken away during the run (the room shrinks as blocks are held)."""
    needs_locked(256 * MIB)
    taken_away = tmp_path / "taken away"
    # What the tests before have loaded is no part of it.
    before = resident(os.getpid())

    def room() -> int:
        held = max(resident(os.getpid()) - before, 0)
        return (200 if taken_away.exists() else 400) * MIB - held

    with Follower(job(256 * MIB, 4.0, repeat=True), room) as follower:
        until(follower, lambda s: len(s.passes) >= 1, taken_away.touch)
    last = follower.last
    assert last.most == 256 * MIB
    assert 0 < last.given_back < last.most
    assert last.held == last.most - last.given_back
    assert (follower.status, last.wrong_words) == (0, 0)


def resident(pid: int) -> int:
    with open(f"/proc/{pid}/statm", encoding="ascii") as file:  # noqa: PTH123
        return int(file.read().split()[1]) * 4096


def test_it_offers_itself_first_when_memory_runs_out() -> None:
    with Follower(job(32 * MIB, 30, repeat=True), lambda: PLENTY) as follower:
        scores: list[int] = []
        for snapshot in follower.follow():
            if snapshot is not None and not scores:
                with open(f"/proc/{follower.pid}/oom_score_adj") as file:  # noqa: PTH123
                    scores.append(int(file.read()))
                follower.stop()
    assert scores == [1000]


def test_it_does_not_outlive_its_parent() -> None:
    program = (
        "import os, sys\n"
        "from tests.native.test_worker import job, PLENTY, MIB\n"
        "from livecheck.native.worker import Follower\n"
        "follower = Follower(job(32 * MIB, 600, repeat=True), lambda: PLENTY)\n"
        "print(follower.pid, flush=True)\n"
        "next(s for s in follower.follow() if s)\n"
        "os._exit(0)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], stdout=subprocess.PIPE, text=True, timeout=60, check=True
    )
    pid = int(done.stdout)
    deadline = time.monotonic() + 20
    while alive(pid) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not alive(pid)


def alive(pid: int) -> bool:
    """True for a running process; one that ended and awaits its parent is none."""
    try:
        with open(f"/proc/{pid}/stat", encoding="ascii") as file:  # noqa: PTH123
            return file.read().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False
