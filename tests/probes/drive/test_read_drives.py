"""Read test: bad places found exactly, stalls and vanishing drives survived, nothing written.

Drives are functions that fill a buffer or fail as the kernel fails (errno of read(2)), and a
loop device where the machine allows one. Device-mapper targets are not used: few kernels of
test machines carry them.
"""

from __future__ import annotations

import errno
import itertools
import os
import subprocess
import sys
import threading
import time
import tracemalloc
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck import knowledge
from livecheck.probes import Context
from livecheck.probes.control import Control
from livecheck.probes.drive import read_drives, read_figures, read_plan, read_test
from livecheck.probes.drive.read_findings import copy_advice, findings
from livecheck.probes.drive.read_stats import Statistics, bucket, bucket_seconds
from livecheck.records import (
    BadRange,
    BlockFacts,
    Device,
    Inventory,
    NotTested,
    Outcome,
    Part,
    ReadFigures,
    decode,
    encode,
)
from tests.inventory.fake_host import FakeHost
from tests.loops import loop_device

LIMITS = {name: check.limits for name, check in knowledge.load().checks.items()}
MIB = 1 << 20


def _drive(bad: list[tuple[int, int]], wrong: int = errno.EIO) -> Callable[[memoryview, int], int]:
    """A drive that fails every read touching one of the bad stretches (offset, bytes)."""

    def read(buffer: memoryview, offset: int) -> int:
        if any(offset < at + size and at < offset + len(buffer) for at, size in bad):
            raise OSError(wrong, os.strerror(wrong))
        return len(buffer)

    return read


def _tested(
    read: Callable[[memoryview, int], int], size: int, depth: str = "full", deadline: float = 30
) -> read_test.ReadTest:
    test = read_test.ReadTest(read, read_plan.plan(size, depth), depth)
    test.deadline = deadline
    for _ in test.run(LIMITS["storage.read-stalls"]):
        pass
    return test


def _outcomes(test: read_test.ReadTest) -> dict[str, Outcome]:
    return {one.check: one.outcome for one in findings(test, LIMITS)}


def test_a_sound_drive_passes() -> None:
    """Every byte is read once and no check fails."""
    test = _tested(_drive([]), 300 * MIB)
    assert test.stats.bytes == 300 * MIB
    assert set(_outcomes(test).values()) == {Outcome.PASSED}


@pytest.mark.parametrize("at", [0, 5 * MIB, 12345 * 4096, 100 * MIB - 4096])
def test_an_unreadable_sector_is_found_exactly(at: int) -> None:
    """One bad 4 KiB stretch is narrowed down to itself; the rest is read."""
    test = _tested(_drive([(at, 4096)]), 100 * MIB)
    assert [(bad.offset, bad.bytes) for bad in test.stats.bad] == [(at, 4096)]
    assert test.ended is None
    assert _outcomes(test)["storage.read-errors"] is Outcome.FAILED


def test_neighbouring_bad_sectors_are_one_range() -> None:
    """Two bad stretches that touch are told as one."""
    test = _tested(_drive([(8 * MIB, 8192)]), 64 * MIB)
    assert [(bad.offset, bad.bytes) for bad in test.stats.bad] == [(8 * MIB, 8192)]


def test_a_dying_drive_is_left_alone() -> None:
    """Bad all over: it stops after a few reads and says to copy the data first."""
    reads = []

    def read(buffer: memoryview, offset: int) -> int:
        reads.append(offset)
        raise OSError(errno.EIO, "bad")

    test = _tested(read, 10_000 * MIB)
    assert len(reads) <= read_test.FAILURES_LEFT + read_plan.ALIGN // 1024
    (errors, *_) = findings(test, LIMITS)
    assert errors.outcome is Outcome.FAILED
    assert "Copy the customer's data" in errors.says


def test_a_stalling_drive_costs_its_reading_only() -> None:
    """A read that never comes back is given up after its deadline, and the test ends."""
    release = threading.Event()

    def read(buffer: memoryview, offset: int) -> int:
        if offset >= 32 * MIB:
            release.wait(20)
        return len(buffer)

    begun = time.monotonic()
    test = _tested(read, 100 * MIB, deadline=0.2)
    assert time.monotonic() - begun < 5
    release.set()
    assert test.stuck
    found = _outcomes(test)
    assert found["storage.read-stalls"] is Outcome.FAILED
    assert found["storage.read-errors"] is Outcome.NOT_JUDGED


def test_a_vanishing_drive_is_told_as_that() -> None:
    """ENODEV half-way (the device is gone) is no bad sector."""
    test = _tested(_drive([(50 * MIB, 50 * MIB)], errno.ENODEV), 100 * MIB)
    (errors, *_) = findings(test, LIMITS)
    assert (errors.outcome, errors.value) == (Outcome.FAILED, "disappeared")
    assert test.stats.bad == []


def test_a_drive_that_loses_its_size_is_gone() -> None:
    """A drive pulled out answers EIO, or nothing at all, and the kernel shows size 0."""
    for wrong in (errno.EIO, 0):

        def read(buffer: memoryview, offset: int, wrong: int = wrong) -> int:
            if offset < 50 * MIB:
                return len(buffer)
            if wrong:
                raise OSError(wrong, os.strerror(wrong))
            return 0

        test = read_test.ReadTest(
            read,
            read_plan.plan(100 * MIB, "full"),
            "full",
            read_test.Surroundings(gone=lambda: True),
        )
        list(test.run({}))
        (errors, *_) = findings(test, LIMITS)
        assert (errors.outcome, errors.value) == (Outcome.FAILED, "disappeared")


def test_sectors_are_found_by_their_own_size() -> None:
    """Ten bad sectors of 512 bytes at 1234h, as scsi_debug makes them (Linux, opts=2)."""
    first, length = 0x1234 * 512, 10 * 512
    test = read_test.ReadTest(
        _drive([(first, length)]),
        read_plan.plan(64 * MIB, "full"),
        "full",
        read_test.Surroundings(sector=512),
    )
    list(test.run({}))
    assert [(one.offset, one.bytes) for one in test.stats.bad] == [(first, length)]
    assert test.ended is None


def test_advice_says_what_copying_needs() -> None:
    """A dying drive of 500 GB: the copy needs as large a drive, and a time by the speed seen."""
    says = copy_advice(500 * 10**9, 50e6)
    assert "500 GB" in says
    # 500 GB at 50 MB/s are 10,000 s.
    assert "2.8 h" in says


class _Asked(Control):
    """Answers from lists; the last answer stays."""

    def __init__(self, pauses: list[bool], skips: list[bool]) -> None:
        self.pauses, self.skips = pauses, skips
        self.rested = 0

    def paused(self) -> bool:
        wanted = self.pauses.pop(0) if len(self.pauses) > 1 else self.pauses[0]
        self.rested += wanted
        return wanted

    def skip(self) -> bool:
        return self.skips.pop(0) if len(self.skips) > 1 else self.skips[0]


def test_a_pause_rests_the_drive_and_goes_on() -> None:
    """While paused no read begins; afterwards the rest is read and nothing counts as late."""
    reads: list[float] = []

    def read(buffer: memoryview, offset: int) -> int:
        reads.append(time.monotonic())
        return len(buffer)

    control = _Asked([False] * 5 + [True] * 4 + [False], [False])
    test = read_test.ReadTest(
        read, read_plan.plan(100 * MIB, "full"), "full", read_test.Surroundings(control=control)
    )
    seen = list(test.run({"stall_s": 0.3}))
    assert any(one.paused for one in seen)
    assert test.stats.bytes == 100 * MIB
    longest = max(later - sooner for sooner, later in itertools.pairwise(reads))
    assert longest >= 3 * read_test.SLICE
    assert _outcomes(test)["storage.read-stalls"] is Outcome.PASSED


def test_a_skip_keeps_what_was_read() -> None:
    """Leaving a drive out half-way: what was read is told, the check is not judged."""
    control = _Asked([False], [False] * 10 + [True])
    test = read_test.ReadTest(
        _drive([]),
        read_plan.plan(1000 * MIB, "full"),
        "full",
        read_test.Surroundings(control=control),
    )
    list(test.run({}))
    (errors, *_) = findings(test, LIMITS)
    assert errors.outcome is Outcome.NOT_JUDGED
    assert "left out by the technician" in (errors.why_not or "")
    assert 0 < test.stats.bytes < 1000 * MIB


def test_a_skip_leaves_a_read_that_hangs() -> None:
    """Nobody has to wait for the deadline of a drive that hangs."""
    release = threading.Event()

    def read(buffer: memoryview, offset: int) -> int:
        release.wait(20)
        return len(buffer)

    control = _Asked([False], [False, False, True])
    test = read_test.ReadTest(
        read, read_plan.plan(64 * MIB, "full"), "full", read_test.Surroundings(control=control)
    )
    begun = time.monotonic()
    list(test.run({}))
    assert time.monotonic() - begun < 3
    release.set()
    assert test.stuck
    assert _outcomes(test)["storage.read-stalls"] is Outcome.NOT_JUDGED


def test_remaining_time_is_told() -> None:
    """A drive that takes the same time for each read: the first half tells of the second."""

    def read(buffer: memoryview, offset: int) -> int:
        time.sleep(0.02)
        return len(buffer)

    test = read_test.ReadTest(read, read_plan.plan(400 * MIB, "full"), "full")
    begun = time.monotonic()
    seen = [(time.monotonic() - begun, one) for one in test.run({})]
    whole = time.monotonic() - begun
    middle = next((at, one) for at, one in seen if one.done is not None and one.done >= 0.5)
    assert middle[1].seconds_left is not None
    assert middle[0] + middle[1].seconds_left == pytest.approx(whole, rel=0.35)


@given(
    st.lists(st.tuples(st.integers(0, 63), st.floats(1e-5, 20.0)), max_size=40),
    st.lists(st.tuples(st.integers(0, 1 << 40), st.booleans(), st.booleans()), max_size=5),
)
def test_figures_are_what_was_counted(
    requests: list[tuple[int, float]], places: list[tuple[int, bool, bool]]
) -> None:
    """What a reading hands to the charts is what the test counted, after a record file too."""
    stats = Statistics(0, 64 * MIB)
    for region, seconds in requests:
        stats.add(region * MIB, 4096, seconds, 3.0)
    for place, recovered, exact in places:
        stats.add_bad(
            BadRange(offset=place, bytes=4096, tries=3, recovered=recovered,
                     exact=exact or recovered)
        )  # fmt: skip
    found = decode(encode(read_figures.figures(stats)), ReadFigures)
    assert (found.bytes, found.requests) == (stats.bytes, stats.requests)
    assert (found.start, found.length) == (0, 64 * MIB)
    assert sum(number for _, number in found.histogram) == stats.requests
    assert [m is None for m in found.medians] == [not any(row) for row in stats.regions]
    kept = [(one.offset, one.bytes, one.recovered, one.exact) for one in stats.bad]
    assert [(one.offset, one.bytes, one.recovered, one.exact) for one in found.bad] == kept


def test_a_slow_region_is_found() -> None:
    """One 64th of the span at 500 ms beside 1 ms is slow; twice as slow is no fault."""
    for factor, slow in ((500.0, (7,)), (2.0, ())):
        stats = Statistics(0, 64 * MIB)
        for index in range(64 * 4):
            offset = index * MIB // 4
            seconds = 1e-3 * (factor if stats.region(offset) == 7 else 1.0)
            stats.add(offset, 4096, seconds, 3.0)
        assert stats.slow_regions(0.1) == slow


@pytest.mark.parametrize(
    ("nvme", "rotational", "flash"),
    [(None, False, True), (None, True, False), (None, None, False), ("nvme0", None, True)],
)
def test_a_drive_is_judged_by_the_limits_of_what_it_is(
    nvme: str | None, rotational: bool | None, flash: bool
) -> None:
    """By queue/rotational (Linux Documentation/ABI/stable/sysfs-block); NVMe is flash."""
    part = Part(id="drive:D", kind="drive", name="d", place="p", block="b", nvme=nvme)
    block = Device(
        subsystem="block", name="b", path="/sys/b", facts=BlockFacts(rotational=rotational)
    )
    inventory = Inventory(parts=(part,), devices=(block,))
    context = Context(host=FakeHost(), inventory=inventory, events=(), knowledge=knowledge.load())
    assert read_drives.is_flash(context, part) is flash


@given(st.floats(1e-5, 150.0))
def test_buckets_hold_their_latency(seconds: float) -> None:
    """A latency lies at or below its bucket's upper edge, and within a quarter octave of it."""
    edge = bucket_seconds(bucket(seconds))
    assert seconds <= edge * (1 + 1e-9)
    assert edge <= seconds * 2**0.25 * (1 + 1e-9)


@settings(max_examples=200)
@given(st.integers(0, 1 << 45), st.sampled_from(["quick", "full"]), st.integers(0, 1 << 40))
def test_requests_stay_inside_and_aligned(size: int, depth: str, start: int) -> None:
    """No request leaves the drive; all are multiples of 4096 (O_DIRECT's rule)."""
    planned = read_plan.plan(size, depth, start)
    count = len(planned)
    for index in {0, 1, count // 2, count - 2, count - 1}:
        if 0 <= index < count:
            offset, length = planned.request(index)
            assert offset % 4096 == 0
            assert length % 4096 == 0
            assert 0 < length <= read_plan.SEQUENTIAL_BYTES
            assert planned.start <= offset
            assert offset + length <= size


def test_full_plan_covers_every_byte_once() -> None:
    """The requests of a full read lie end to end."""
    planned = read_plan.plan(10 * MIB + 4096, "full")
    at = 0
    for index in range(len(planned)):
        offset, length = planned.request(index)
        assert offset == at
        at += length
    assert at == 10 * MIB + 4096


def test_a_large_drive_costs_no_more_than_a_small_one() -> None:
    """16 TB are sampled with as many requests and as little memory as 16 GB."""
    peaks = []
    for size in (16 * 10**9, 16 * 10**12):
        tracemalloc.start()
        test = _tested(_drive([]), size, "quick")
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert test.stats.requests == read_plan.SAMPLES + read_plan.RANDOM_READS
    assert peaks[1] < 1.3 * peaks[0]


def test_a_recording_has_no_drives_to_read() -> None:
    """The probe never falls back on the drives of the machine it replays on."""
    context = Context(host=FakeHost(), inventory=Inventory(), events=(), knowledge=knowledge.load())
    assert [type(one) for one in read_drives.probe(context)] == [NotTested]


# --- A real block device


@pytest.fixture
def loop(tmp_path: Path) -> Iterator[str]:
    """A loop device over a sparse file of 64 MiB."""
    with loop_device(tmp_path, 64 * MIB) as node:
        yield node


READ_ONE = """
import sys
from livecheck.live_host import LiveHost
from livecheck.probes.drive import read_plan
from livecheck.probes.drive import read_test
from livecheck.probes.drive.read_device import direct
descriptor = LiveHost().open_disk(sys.argv[1])
test = read_test.ReadTest(direct(descriptor), read_plan.plan(64 << 20, "full"), "full")
list(test.run({}))
assert test.stats.bytes == 64 << 20, test.ended
"""


def test_no_system_call_writes_to_the_drive(loop: str, tmp_path: Path) -> None:
    """strace of a whole read: the drive is opened once, O_RDONLY, and never written to."""
    log = tmp_path / "strace"
    calls = "trace=open,openat,openat2,write,pwrite64,pwritev,pwritev2,ioctl,fallocate"
    subprocess.run(
        ["strace", "-f", "-y", "-e", calls, "-o", str(log), sys.executable, "-c", READ_ONE, loop],
        check=True,
    )
    lines = [line for line in log.read_text("utf-8").splitlines() if loop in line]
    opens = [line for line in lines if "openat(" in line or " open(" in line]
    assert opens
    assert all("O_RDONLY" in line and "O_DIRECT" in line for line in opens)
    assert [line for line in lines if line not in opens and "ioctl" not in line] == []
