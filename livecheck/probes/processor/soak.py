"""The soak of a hand-over: processor and memory under load together, for hours.

Both loads check themselves: the processor's sums against known results, the memory's
words against what was written. The load ends some kelvin before a trip point at which
the kernel would put the machine to sleep or switch it off.
"""

from __future__ import annotations

import os
import time
from collections.abc import Generator, Iterator
from typing import Final

import msgspec

from livecheck.capture import CapturedHost
from livecheck.inventory import smbios
from livecheck.native.messages import Snapshot
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.control import StopRequest
from livecheck.probes.heat import limits
from livecheck.probes.memory import address_map, hardware_errors, headroom, march_plan
from livecheck.probes.memory.judge import MarchResult, judge
from livecheck.probes.processor import cores
from livecheck.probes.processor.cores import LoadTally
from livecheck.records import NotTested, Outcome, Reading

try:
    from livecheck.native import _load, load
    from livecheck.native.region import Budget
    from livecheck.native.worker import Follower, Job
except ImportError as error:
    MISSING: str | None = str(error)
else:
    MISSING = None

TITLE: Final = "Soak: processor and memory"
MEMORY_SHARE: Final = 0.75
"""Of the memory that is free: the rest lets the machine breathe for hours."""
TELL_SECONDS: Final = 10.0


class SoakResult(msgspec.Struct, frozen=True, kw_only=True):
    """How long it was loaded, and why it ended."""

    asked: float
    """Seconds."""
    stood: float
    too_hot: str | None = None
    stopped: bool = False
    hottest: float | None = None


def probe(context: Context) -> Iterator[Yield]:
    """Load the machine for the hours asked for; what was found until it ended is kept."""
    if context.soak_seconds <= 0:
        yield NotTested(what=TITLE, why="no hours of load were asked for")
        return
    if isinstance(context.host, CapturedHost):
        yield NotTested(what=TITLE, why="a recorded machine cannot be loaded")
        return
    if MISSING is not None:
        yield NotTested(what=TITLE, why=f"the compiled load is missing: {MISSING}")
        return
    hot = limits.too_hot(context.host)
    if hot is not None:
        yield NotTested(what=TITLE, why=f"too hot to be loaded already: {hot}")
        return
    yield from _soak(context)


def _soak(context: Context) -> Iterator[Yield]:
    host = context.host
    modules = address_map.build(context.inventory, smbios.tables(host))
    counts, since = hardware_errors.error_counts(host), hardware_errors.newest(host)
    before = headroom.measure(host)
    keep = headroom.reserve(before)
    depth = march_plan.DEPTHS["soak"]
    job = Job(
        passes=depth.passes,
        budget=Budget(int(max(0, before.available - keep) * MEMORY_SHARE), keep),
        cpus=tuple(sorted(os.sched_getaffinity(0))),
        seconds=context.soak_seconds,
        repeat=True,
    )
    result = MarchResult(installed=context.inventory.machine.installed_memory_bytes, before=before)
    tally = LoadTally(cores=job.cpus, unit=_load.unit())
    with StopRequest() as stop, Follower(job, lambda: headroom.measure(host).available) as follower:
        soaked = yield from _load_both(context, tally, result, follower, stop)
        follower.stop()
        for snapshot in follower.follow():
            _take(result, snapshot)
        result.status = follower.status
    result.stopped = stop.asked
    yield endured(soaked)
    yield from cores.readings(tally, _processor(context))
    yield from judge(result, modules)
    if result.last.passes:
        after = hardware_errors.error_counts(host)
        yield hardware_errors.counts_reading(counts, after, result.last.seconds / 60)
    lines = hardware_errors.machine_checks(host, since)
    yield hardware_errors.machine_check_reading("processor.machine-checks", lines)


def _load_both(
    context: Context, tally: LoadTally, result: MarchResult, follower: Follower, stop: StopRequest
) -> Generator[Progress, None, SoakResult]:
    """The processor's load slice by slice beside the memory's own process."""
    throttled = cores.throttle_counts(context.host)
    tally.has_counters = bool(throttled)
    begun, told, turn = time.monotonic(), -TELL_SECONDS, 0
    snapshots = follower.follow(tick=0.0)
    too_hot: str | None = None
    while (gone := time.monotonic() - begun) < context.soak_seconds and not stop.asked:
        too_hot = limits.too_hot(context.host)
        if too_hot is not None:
            break
        length = min(cores.SLICE, context.soak_seconds - gone)
        done = load.run(tally.cores, length, lambda *_: stop.asked, turn=turn)
        turn += 1
        cores.note(context.host, tally, done, gone)
        tally.seconds = time.monotonic() - begun
        for snapshot in snapshots:
            _take(result, snapshot)
            if snapshot is None:
                break
        if gone - told >= TELL_SECONDS:
            told = gone
            yield _progress(context, tally, result, gone)
    after = cores.throttle_counts(context.host)
    tally.throttled = {n: after[n] - c for n, c in throttled.items() if after.get(n, 0) > c}
    tally.stopped = stop.asked
    return SoakResult(
        asked=context.soak_seconds,
        stood=time.monotonic() - begun,
        too_hot=too_hot,
        stopped=stop.asked,
        hottest=tally.hottest,
    )


def _take(result: MarchResult, snapshot: Snapshot | None) -> None:
    if snapshot is not None:
        result.last = snapshot
        result.found.extend(snapshot.found)


def _progress(context: Context, tally: LoadTally, result: MarchResult, gone: float) -> Progress:
    heat = "" if tally.hottest is None else f", hottest {tally.hottest:.0f} °C"
    wrong = tally.wrong_results + result.last.wrong_words
    found = f", {wrong} wrong" if wrong else ""
    passes = len(result.last.passes)
    return Progress(
        says=f"{len(tally.cores)} cores and memory under load, {passes} passes{heat}{found}",
        done=min(1.0, gone / context.soak_seconds),
        seconds_left=context.soak_seconds - gone,
    )


def endured(soaked: SoakResult) -> Reading:
    """Whether the machine stood the whole time."""
    heat = "" if soaked.hottest is None else f", {soaked.hottest:.0f} °C at the hottest"
    stood = f"{_span(soaked.stood)} of {_span(soaked.asked)} under load{heat}"
    outcome, why, says = Outcome.PASSED, None, f"The machine stood {stood}."
    if soaked.too_hot is not None:
        outcome = Outcome.FAILED
        says = f"The load was ended after {stood}: {soaked.too_hot}."
    elif soaked.stopped:
        outcome, why = Outcome.NOT_JUDGED, f"stopped by the technician after {stood}"
    return Reading(
        check="soak.endured",
        at="machine",
        outcome=outcome,
        value=round(soaked.stood / 60, 1),
        unit="min",
        source="self-checking load",
        says=says,
        why_not=why,
        conditions=("under load",),
    )


def _span(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"


def _processor(context: Context) -> str:
    parts = [part.id for part in context.inventory.parts if part.kind == "processor"]
    return parts[0] if parts else "machine"
