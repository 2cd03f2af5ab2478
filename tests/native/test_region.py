"""Taking memory and giving it back, within every limit the system may set."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from livecheck.live_host import LiveHost
from livecheck.native.backgrounds import BACKGROUNDS, LINE
from livecheck.native.engine import Tally, run_pass
from livecheck.native.messages import Pass
from livecheck.native.notation import TESTS
from livecheck.native.region import Budget, Region, take
from livecheck.probes.memory.headroom import measure
from tests.native.locking import needs_locked

MIB = 1 << 20


def child(program: str, *, timeout: float = 120) -> str:
    """Run a program that sets limits on itself; what it printed."""
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, timeout=timeout
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_takes_what_is_wanted_and_leaves_the_reserve() -> None:
    needs_locked(70 * MIB)
    region = Region()
    total = 100 * MIB
    take(region, Budget(200 * MIB, 30 * MIB, 16 * MIB), lambda: total - len(region))
    assert len(region) == 70 * MIB
    assert total - len(region) >= 30 * MIB
    assert region.refusal is not None
    region.close()
    take(region, Budget(40 * MIB, 30 * MIB, 16 * MIB), lambda: total - len(region))
    assert len(region) == 40 * MIB
    region.close()


def test_nothing_to_be_had() -> None:
    region = Region()
    take(region, Budget(40 * MIB, 30 * MIB), lambda: 20 * MIB)
    assert len(region) == 0
    assert region.refusal


def test_stop_while_taking() -> None:
    region = Region()
    take(region, Budget(400 * MIB, 0, 4 * MIB), lambda: 1 << 40, lambda: len(region) >= 8 * MIB)
    assert len(region) == 8 * MIB
    region.close()


def test_address_space_limit() -> None:
    """RLIMIT_AS (getrlimit(2)): less is taken and said, nothing raised."""
    needs_locked(80 * MIB)
    out = child(
        "import resource\n"
        "from livecheck.native.region import Budget, Region, take\n"
        "used = int(open('/proc/self/statm').read().split()[0]) * 4096\n"
        "resource.setrlimit(resource.RLIMIT_AS, (used + (80 << 20),) * 2)\n"
        "region = Region()\n"
        "take(region, Budget(400 << 20, 0, 16 << 20), lambda: 1 << 40)\n"
        "print(len(region) >> 20, region.refusal)\n"
    )
    size, _, says = out.partition(" ")
    assert 32 <= int(size) <= 80
    assert "no more memory" in says


def test_without_the_right_to_lock() -> None:
    """As an ordinary user with a small RLIMIT_MEMLOCK: one block, unlocked, said so; tested."""
    out = child(
        "import os, resource\n"
        "from livecheck.native.region import Budget, Region, take\n"
        "from livecheck.native.engine import Tally, run_pass\n"
        "from livecheck.native.messages import Pass\n"
        "from livecheck.native.notation import TESTS\n"
        "from livecheck.native.backgrounds import BACKGROUNDS\n"
        "resource.setrlimit(resource.RLIMIT_MEMLOCK, (65536, 65536))\n"
        "if os.getuid() == 0: os.setresuid(65534, 65534, 65534)\n"
        "region = Region()\n"
        "take(region, Budget(400 << 20, 0, 16 << 20), lambda: 1 << 40)\n"
        "tally = Tally()\n"
        "todo = Pass(1, TESTS['March C-'], BACKGROUNDS['random'])\n"
        "done = run_pass(region, todo, [0], tally, lambda _: False)\n"
        "print(len(region) >> 20, region.locked, done, tally.wrong_words, region.refusal)\n"
    )
    assert out.startswith("16 False True 0 could not be locked")


def test_memory_cgroup_limit() -> None:
    """In a control group with 200 MiB, the room shrinks to it and the test survives."""
    version_2 = Path("/sys/fs/cgroup/cgroup.controllers")
    version_1 = Path("/sys/fs/cgroup/memory/cgroup.procs")
    if version_2.exists() and "memory" in version_2.read_text().split():
        group, limit = Path("/sys/fs/cgroup/livecheck-test"), "memory.max"
    elif version_1.exists():
        group, limit = Path("/sys/fs/cgroup/memory/livecheck-test"), "memory.limit_in_bytes"
    else:
        pytest.skip("no memory control group is mounted here")
    if not os.access(group.parent, os.W_OK):
        pytest.skip("control groups may not be made here")
    group.mkdir()
    try:
        (group / limit).write_text(str(200 * MIB))
        out = child(
            "import os\n"
            f"open('{group}/cgroup.procs', 'w').write(str(os.getpid()))\n"
            "from livecheck.live_host import LiveHost\n"
            "from livecheck.native.region import Budget, Region, take\n"
            "from livecheck.probes.memory.headroom import measure\n"
            "host, region = LiveHost(), Region()\n"
            "print(measure(host).limited_by)\n"
            "take(region, Budget(1 << 40, 50 << 20, 16 << 20), lambda: measure(host).available)\n"
            "print(len(region) >> 20)\n"
        )
    finally:
        group.rmdir()
    says, size = out.splitlines()
    assert says == "the limit of a control group"
    assert 64 <= int(size) <= 150


def test_memory_locked_by_others_is_left_alone() -> None:
    """What another process holds with mlock(2) is no room: less is taken, the reserve stays."""
    locked = 512 * MIB
    host = LiveHost()
    before = measure(host).available
    holder = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "from livecheck.native.region import Region; import sys\n"
            f"region = Region(); region.grow({locked}, lock=True)\n"
            "print(region.locked, flush=True)\n"
            "sys.stdin.read()",
        ],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert holder.stdout is not None
        if holder.stdout.readline().strip() != "True":
            pytest.skip("this user may not lock 512 MiB")
        left = measure(host).available
        # Others on this machine take and give memory meanwhile: a quarter is left for them.
        assert before - left > locked * 3 // 4
        region = Region()
        reserve = left - 128 * MIB
        take(region, Budget(locked, reserve, 16 * MIB), lambda: measure(host).available)
        assert 0 < len(region) < locked // 2
        region.close()
    finally:
        holder.communicate("")


@pytest.mark.slow
def test_block_is_given_back_while_workers_run() -> None:
    """Dropping waits for the workers inside, never pulls memory away under them."""
    region = Region()
    for _ in range(8):
        assert region.grow(32 * MIB, lock=False)
    tally = Tally()
    dropped = threading.Event()

    def watch(tally: Tally) -> bool:
        if tally.line_ops > 0 and not dropped.is_set():
            for _ in range(4):
                assert region.drop() == 32 * MIB
            dropped.set()
        return False

    todo = Pass(1, TESTS["PMOVI"], BACKGROUNDS["random"])
    assert run_pass(region, todo, [0, 1], tally, watch)
    assert dropped.is_set()
    assert len(region) == 128 * MIB
    assert tally.wrong_words == 0
    region.close()


def test_stopping_ends_within_chunks_and_counts_what_was_done() -> None:
    region = Region()
    assert region.grow(128 * MIB, lock=False)
    tally = Tally()
    asked: list[float] = []

    def watch(tally: Tally) -> bool:
        asked.append(time.monotonic())
        return True

    todo = Pass(1, TESTS["March SS"], BACKGROUNDS["solid"])
    assert not run_pass(region, todo, [0, 1], tally, watch)
    assert time.monotonic() - asked[-1] < 2.0
    assert 0 < tally.line_ops < TESTS["March SS"].operations * len(region) // LINE
    region.close()
