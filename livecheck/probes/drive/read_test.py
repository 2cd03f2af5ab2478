"""One drive's read test: works through a plan, times each read, and knows when to stop.

A drive that is dying is left alone early: reading on could take the customer's data
with it. A read the kernel never finishes is given up, and its thread left behind.
"""

from __future__ import annotations

import errno
import time
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from typing import Final

import msgspec

from livecheck.probes import Progress
from livecheck.probes.control import NONE, Control
from livecheck.probes.drive.read_bisect import bisect
from livecheck.probes.drive.read_device import DEPTH, Answer, Reader, ReadInto
from livecheck.probes.drive.read_plan import ALIGN, ReadPlan
from livecheck.probes.drive.read_stats import Statistics
from livecheck.records import BadRange

DEADLINES: Final = {"quick": 30.0, "full": 120.0, "soak": 120.0}
"""Seconds one read may take. A sound disk wakes up in about 15 s (common practice, no
source); the kernel itself gives a command 30 s (Linux ``SD_TIMEOUT``)."""

FAILURES_LEFT: Final = 256
"""Failed reads, those of the search included, after which a drive counts as dying (assumed)."""
PLACES_LEFT: Final = 8
"""Separate unreadable places after which it does (assumed)."""
SECONDS_LOST: Final = 120.0
"""Seconds spent on failed reads after which it does (assumed)."""

MEDIUM: Final = frozenset({errno.ENODATA})
"""What a read gives for BLK_STS_MEDIUM, "critical medium" (Linux 6.12 block/blk-core.c): the
drive's own words. Damage on the way gives EIO, and so does a drive that only aborts."""
GONE: Final = frozenset({errno.ENODEV, errno.ENXIO, errno.ENOMEDIUM, errno.ESHUTDOWN})

SLICE: Final = 0.2
"""Seconds between two looks at what the technician asks for."""


class Ended(Exception):
    """Why a read test stopped before its plan was done."""


class Surroundings(msgspec.Struct, frozen=True, kw_only=True):
    """What a read test knows of the drive and of those who may break it off."""

    sector: int = ALIGN
    """Smallest piece that can be read."""
    gone: Callable[[], bool] = lambda: False
    """Whether the kernel lost the drive."""
    control: Control = NONE
    stopped: Callable[[], bool] = lambda: False


class ReadTest:
    """One drive's test, and what it found so far."""

    def __init__(
        self,
        read: ReadInto,
        planned: ReadPlan,
        depth: str,
        around: Surroundings | None = None,
    ) -> None:
        around = around or Surroundings()
        self.plan = planned
        self.stats = Statistics(planned.start, planned.length)
        self.deadline = DEADLINES.get(depth, DEADLINES["full"])
        self.ended: str | None = None
        """Why it stopped early; None: it did not."""
        self.stuck = False
        """True: a read never came back, and its thread is left behind."""
        self.hung = False
        """True: it was given up because its deadline passed, not because it was skipped."""
        self.gone = False
        self.dying = False
        self.medium = 0
        """Reads that the drive itself refused for its medium, as the kernel passes it on."""
        self._sector = around.sector
        self._is_gone = around.gone
        self._control, self._stopped = around.control, around.stopped
        self._reader = Reader(read)
        self._failures = 0
        self._lost = 0.0
        self._ahead: deque[Answer] = deque()

    def run(self, limits: Mapping[str, float]) -> Iterator[Progress]:
        """Read all that is planned; yields how far it is some times a second."""
        late_after = limits.get("stall_s", 3.0)
        total, sent = len(self.plan), 0
        told, worked = time.monotonic(), 0.0
        try:
            for done in range(1, total + 1):
                if self._control.paused():
                    self._settle()
                    yield from self._rest(done - 1, total)
                    told = time.monotonic()
                while sent < total and self._reader.waiting + len(self._ahead) < DEPTH:
                    self._reader.submit(*self.plan.request(sent))
                    sent += 1
                answer = self._ahead.popleft() if self._ahead else self._take()
                if answer.errno is None:
                    self.stats.add(answer.offset, answer.size, answer.seconds, late_after)
                else:
                    self._failed(answer)
                if (since := time.monotonic() - told) >= SLICE or done == 1:
                    worked += since
                    told += since
                    left = worked / done * (total - done)
                    yield Progress(says=self._words(), done=done / total, seconds_left=left)
        except Ended as reason:
            self.ended = str(reason)
        finally:
            self._reader.close()

    def _words(self) -> str:
        speed = self.stats.bytes_per_second
        rate = f", {speed / 1e6:.0f} MB/s" if speed else ""
        bad = f", {self.stats.bad_bytes} bytes unreadable" if self.stats.bad_bytes else ""
        return f"{self.stats.bytes / 1e9:.1f} of {self.plan.bytes / 1e9:.1f} GB read{rate}{bad}"

    def _rest(self, done: int, total: int) -> Iterator[Progress]:
        """Wait until the pause is over; the drive is left alone meanwhile."""
        while self._control.paused():
            self._heed()
            yield Progress(says=f"paused; {self._words()}", done=done / total, paused=True)
            time.sleep(SLICE)

    def _heed(self) -> None:
        if self._control.skip():
            raise Ended("left out by the technician before it was done")
        if self._stopped():
            raise Ended("stopped by the technician before it was done")

    def _settle(self) -> None:
        """Take in what is under way, so that the drive has nothing to do."""
        while self._reader.waiting:
            self._ahead.append(self._take())

    def _take(self) -> Answer:
        """The next answer; looks for control and at the deadline while it waits."""
        until = time.monotonic() + self.deadline
        try:
            self._heed()
            while (left := until - time.monotonic()) > 0:
                answer = self._reader.answer(min(SLICE, left))
                if answer is not None:
                    return answer
                self._heed()
        except Ended:
            self._settle_at_end()
            raise
        self.stuck = self.hung = True
        raise Ended(f"a read was not answered in {self.deadline:g} s")

    def _settle_at_end(self) -> None:
        """What is under way comes back within a moment, or its thread is left behind."""
        self.stuck = False
        while self._reader.waiting and not self.stuck:
            self.stuck = self._reader.answer(SLICE) is None

    # --- What cannot be read

    def _failed(self, answer: Answer) -> None:
        """Narrow a failed request down to the places that cannot be read."""
        self._note_failure(answer)
        # What is under way comes in first, so that the search has the drive alone.
        self._settle()
        places = len(self.stats.bad)
        end = answer.offset + answer.size
        whole = BadRange(offset=answer.offset, bytes=answer.size, exact=False)
        try:
            bisect(
                self._again, answer.offset, end, min(self._sector, answer.size), self.stats.add_bad
            )
        except Ended:
            if len(self.stats.bad) == places and not self.gone:
                self.stats.add_bad(whole)
            raise
        if len(self.stats.bad) >= PLACES_LEFT:
            self.dying = True
            raise Ended("so many places cannot be read that the drive counts as failing")

    def _again(self, offset: int, size: int) -> bool:
        self._reader.submit(offset, size)
        answer = self._take()
        if answer.errno is None:
            return True
        self._note_failure(answer)
        return False

    def _note_failure(self, answer: Answer) -> None:
        if answer.errno in GONE or self._is_gone():
            self.gone = True
            raise Ended("the drive disappeared while it was read")
        self.medium += answer.errno in MEDIUM
        self._failures += 1
        self._lost += answer.seconds
        if self._failures >= FAILURES_LEFT:
            self.dying = True
            raise Ended("so many reads failed that the drive counts as failing")
        if self._lost >= SECONDS_LOST:
            self.dying = True
            raise Ended("failed reads took so long that the drive counts as failing")
