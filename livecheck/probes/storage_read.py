"""Reads every drive, or samples of it, and times each read. Nothing is ever written.

A drive that is dying is left alone early: reading on could take the customer's data
with it. Link counters are taken before and after: a rise while reading is present
trouble, whatever the counts of a life were.
"""

from __future__ import annotations

import errno
import os
from collections import deque
from collections.abc import Iterator, Mapping
from typing import Final

from livecheck.host import DiskHost, Unreadable
from livecheck.probes import Context, Progress, Yield, pcie, smart, smart_ata
from livecheck.probes.read_device import DEPTH, Answer, Reader, ReadInto, direct
from livecheck.probes.read_plan import ALIGN, Plan, plan
from livecheck.probes.read_stats import Statistics
from livecheck.probes.smart_data import AtaHealth, Finding, finding, unjudged
from livecheck.records import NotTested, Part, Reading

DEADLINES: Final = {"quick": 30.0, "full": 120.0, "soak": 120.0}
"""Seconds one read may take. A sound disk wakes up in about 15 s (common practice, no
source); the kernel itself gives a command 30 s (Linux ``SD_TIMEOUT``)."""

FAILURES_LEFT: Final = 32
"""Failed reads, narrowing included, after which a drive counts as dying (assumed)."""
SECONDS_LOST: Final = 120.0
"""Seconds spent on failed reads after which it does too (assumed)."""

GONE: Final = frozenset({errno.ENODEV, errno.ENXIO, errno.ENOMEDIUM, errno.ESHUTDOWN})

COPY_FIRST: Final = (
    "Stopped early: the drive is failing, and more reading may finish it. Copy the customer's "
    "data first, with a copier that skips bad places, to another drive at least as large."
)


class Ended(Exception):
    """Why a read test stopped before its plan was done."""


def probe(context: Context) -> Iterator[Yield]:
    """Readings of every drive that can be read."""
    host = context.host
    if not isinstance(host, DiskHost):
        yield NotTested(what="Reading the drives", why="this machine is a recording")
        return
    for part in (p for p in context.inventory.parts if p.kind == "drive"):
        block = part.attributes.get("block")
        size = part.attributes.get("size_bytes")
        if not isinstance(block, str) or not isinstance(size, int) or not size:
            yield NotTested(what="Reading the drive", why="it offers nothing to read", at=part.id)
            continue
        try:
            descriptor = host.open_disk(f"/dev/{block}")
        except Unreadable as error:
            hint = "" if host.facts().as_root else " (root may read it)"
            yield NotTested(what="Reading the drive", why=f"{error}{hint}", at=part.id)
            continue
        before = _link_counts(context, part, block)
        planned = plan(size, context.depth)
        test = ReadTest(direct(descriptor), planned, context.depth, _is_flash(context, block))
        for progress in test.run(_limits(context)["storage.read-stalls"]):
            says = f"{part.name}: {progress.says}"
            yield Progress(says=says, done=progress.done, seconds_left=progress.seconds_left)
        if not test.stuck:
            os.close(descriptor)
        after = _link_counts(context, part, block) if not test.stuck else None
        for one in (*test.findings(_limits(context)), *_change(before, after)):
            yield Reading(
                check=one.check,
                at=part.id,
                outcome=one.outcome,
                value=one.value,
                unit=one.unit,
                source=f"reads of /dev/{block}",
                says=one.says,
                why_not=one.why_not,
                details=one.details,
                conditions=("under load",) if one.check == "storage.link-change" else (),
                device=block,
            )


def _is_flash(context: Context, block: str) -> bool:
    return any(
        d.attributes.get("rotational") is False
        for d in context.inventory.devices
        if d.subsystem == "block" and d.name == block
    )


Limits = Mapping[str, Mapping[str, float]]


def _limits(context: Context) -> Limits:
    names = ("storage.read-stalls", "storage.read-slow")
    checks = context.knowledge.checks
    return {name: checks[name].limits if name in checks else {} for name in names}


class ReadTest:
    """One drive's test: works through a plan and keeps what it found."""

    def __init__(self, read: ReadInto, planned: Plan, depth: str, flash: bool = False) -> None:
        self.plan = planned
        self._flash = flash
        self.stats = Statistics(planned.start, planned.length)
        self.deadline = DEADLINES.get(depth, DEADLINES["full"])
        self.ended: str | None = None
        """Why it stopped early; None: it did not."""
        self.stuck = False
        """True: a read never came back, and its thread is left behind."""
        self.gone = False
        self._reader = Reader(read)
        self._failures = 0
        self._lost = 0.0

    def run(self, limits: Mapping[str, float]) -> Iterator[Progress]:
        """Read all that is planned; yields how far it is about every 64 requests."""
        late_after = limits.get("stall_s", 3.0)
        total, sent = len(self.plan), 0
        ahead: deque[Answer] = deque()
        try:
            for done in range(1, total + 1):
                while sent < total and self._reader.waiting + len(ahead) < DEPTH:
                    self._reader.submit(*self.plan.request(sent))
                    sent += 1
                answer = ahead.popleft() if ahead else self._take()
                if answer.errno is None:
                    self.stats.add(answer.offset, answer.size, answer.seconds, late_after)
                else:
                    # What is under way comes in first, so that narrowing has the drive alone.
                    while self._reader.waiting:
                        ahead.append(self._take())
                    self._failed(answer)
                if done % 64 == 0:
                    left = self.stats.seconds / done * (total - done)
                    yield Progress(says="reading", done=done / total, seconds_left=left)
        except Ended as reason:
            self.ended = str(reason)
        finally:
            self._reader.close()

    def _take(self) -> Answer:
        answer = self._reader.answer(self.deadline)
        if answer is None:
            self.stuck = True
            raise Ended(f"a read was not answered in {self.deadline:g} s")
        return answer

    def _failed(self, answer: Answer) -> None:
        """Narrow a failed request down to the places that cannot be read."""
        if answer.errno in GONE:
            self.gone = True
            raise Ended("the drive disappeared while it was read")
        self._failures += 1
        self._lost += answer.seconds
        if answer.size <= ALIGN:
            self.stats.add_bad(answer.offset, answer.size)
        if self._failures >= FAILURES_LEFT or self._lost >= SECONDS_LOST:
            if answer.size > ALIGN:
                self.stats.add_bad(answer.offset, answer.size)
            raise Ended(COPY_FIRST)
        if answer.size <= ALIGN:
            return
        half = max(ALIGN, answer.size // 2 // ALIGN * ALIGN)
        for offset, size in ((answer.offset, half), (answer.offset + half, answer.size - half)):
            if size <= 0:
                continue
            self._reader.submit(offset, size)
            part = self._take()
            if part.errno is not None:
                self._failed(part)

    # --- What came of it

    def findings(self, limits: Limits) -> tuple[Finding, ...]:
        """Readings of the test, as far as it got."""
        return (self._errors(), self._stalls(), self._slow(limits["storage.read-slow"]))

    def _errors(self) -> Finding:
        stats = self.stats
        check = "storage.read-errors"
        if self.gone:
            says = "The drive disappeared while it was being read."
            return finding(check, True, "disappeared", says, details=self._details())
        if stats.bad_bytes:
            where = "one place" if len(stats.bad) == 1 else f"{len(stats.bad)} places"
            says = f"{stats.bad_bytes} bytes in {where} could not be read."
            if self.ended:
                says += f" {self.ended}"
            ranges = tuple(f"at byte {b.offset}: {b.bytes} bytes" for b in stats.bad[:50])
            return finding(check, True, stats.bad_bytes, says, "bytes", ranges)
        if self.ended or not stats.requests:
            return unjudged(check, self.ended or "there was nothing to read", 0, "bytes")
        what = "Samples over the whole span" if self.plan.sampled else "Everything"
        return finding(check, False, 0, f"{what} could be read.", "bytes", self._details())

    def _stalls(self) -> Finding:
        check = "storage.read-stalls"
        late = self.stats.late + self.stuck
        worst = self.stats.worst
        says = f"{late} reads came late; the longest took {worst[0]:.3g} s at byte {worst[1]}."
        if self.stuck:
            says = f"The drive stopped answering: {self.ended}."
        return finding(check, late > 0, late, says, "reads")

    def _slow(self, limits: Mapping[str, float]) -> Finding:
        check = "storage.read-slow"
        limit = limits.get("flash_ms", 100) if self._flash else limits.get("disk_ms", 500)
        slow = self.stats.slow_regions(limit / 1000)
        if self.stats.requests < 64:
            return unjudged(check, "too little was read to compare")
        says = "The drive is equally fast over its span."
        if slow:
            says = f"{len(slow)} of 64 regions are far slower than the rest."
        bad = len(slow) >= limits.get("regions", 1)
        return finding(check, bad, len(slow), says, "regions", self._details())

    def _details(self) -> tuple[str, ...]:
        stats = self.stats
        shares = (0.5, 0.9, 0.99, 0.999)
        times = [(share, stats.percentile(share)) for share in shares]
        speed = stats.bytes_per_second
        typical = [stats.percentile(0.5, region) for region in range(len(stats.regions))]
        return (
            "latency ms: " + ", ".join(f"p{100 * s:g} {t * 1000:.3g}" for s, t in times if t),
            f"mean speed: {speed / 1e6:.0f} MB/s" if speed else "mean speed: not known",
            f"read: {stats.bytes} bytes in {stats.requests} requests",
            "median ms by 64th of the span: "
            + " ".join("-" if t is None else f"{t * 1000:.3g}" for t in typical),
        )


# --- Link counters before and after


class LinkCounts:
    """Link counters of one drive at one moment."""

    def __init__(self, ata: AtaHealth | None, pcie_errors: int | None) -> None:
        self.ata, self.pcie_errors = ata, pcie_errors


def _link_counts(context: Context, part: Part, block: str) -> LinkCounts:
    devices = {d.name: d for d in context.inventory.devices if d.subsystem == "pci"}
    for device in devices.values():
        above = devices.get(str(device.attributes.get("above")))
        if device.component == part.id and above is not None:
            near, far = pcie.read_end(context.host, above), pcie.read_end(context.host, device)
            counted = near.counted or far.counted
            return LinkCounts(None, pcie.link_errors(near, far) if counted else None)
    node = smart.node(context.host, part.attributes.get("scsi"), block)
    return LinkCounts(smart.ask(context.host, node).ata, None)


def _change(before: LinkCounts, after: LinkCounts | None) -> tuple[Finding, ...]:
    check = "storage.link-change"
    rise: int | None = None
    if after is not None and before.ata is not None and after.ata is not None:
        rise = smart_ata.link_change(before.ata, after.ata)
    elif after is not None and before.pcie_errors is not None and after.pcie_errors is not None:
        rise = max(0, after.pcie_errors - before.pcie_errors)
    if rise is None:
        return (unjudged(check, "neither drive nor port keeps link counters that can be read"),)
    says = (
        f"{rise} transfers were damaged on the way while the drive was read."
        if rise
        else "No transfer was damaged on the way while the drive was read."
    )
    return (finding(check, rise > 0, rise, says, "errors"),)
