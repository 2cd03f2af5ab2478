"""Processor, actively: every core works on sums whose results are known beforehand."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from livecheck.capture import CapturedHost
from livecheck.host import Host, counted, number
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.control import StopRequest
from livecheck.probes.memory import hardware_errors
from livecheck.probes.memory.march import hottest
from livecheck.records import NotTested, Outcome, Reading

try:
    from livecheck.native import _load, load
except ImportError as error:
    MISSING: str | None = str(error)
else:
    MISSING = None

SECONDS: Final = {"quick": 30.0, "full": 300.0, "soak": 3600.0}
SLICE: Final = 2.0
"""Seconds of load between two looks at temperatures and counters."""

CPU: Final = "/sys/devices/system/cpu"
THROTTLES: Final = ("core_throttle_count", "package_throttle_count")


class CoreError(msgspec.Struct, frozen=True, kw_only=True):
    """One wrong result, with the conditions it came under."""

    core: int
    pinned: bool
    kind: str
    expected: int
    got: int
    seconds: float
    temperature: float | None
    mhz: float | None


class LoadTally(msgspec.Struct, kw_only=True):
    """How the load went, filled in while it runs."""

    cores: tuple[int, ...]
    unit: str
    seconds: float = 0.0
    calls: int = 0
    wrong_results: int = 0
    wrong: list[CoreError] = []
    hottest: float | None = None
    slowest_mhz: float | None = None
    throttled: dict[str, int] = {}
    """Counter -> events during the load; empty when the processor has no such counter."""
    has_counters: bool = False
    stopped: bool = False


def probe(context: Context) -> Iterator[Yield]:
    """Load every core for the depth's time and compare every result."""
    if isinstance(context.host, CapturedHost):
        yield NotTested(what="Processor under load", why="a recorded machine cannot be loaded")
        return
    if MISSING is not None:
        yield Reading(
            check="processor.results",
            at=_at(context),
            outcome=Outcome.NOT_JUDGED,
            why_not="the compiled load is missing from this installation "
            f"(install livecheck with a C compiler at hand): {MISSING}",
        )
        return
    host, since = context.host, hardware_errors.newest(context.host)
    tally = LoadTally(cores=tuple(sorted(os.sched_getaffinity(0))), unit=_load.unit())
    seconds = SECONDS[context.depth]
    with StopRequest() as stop:
        yield from _run(host, tally, seconds, stop)
    yield from readings(tally, _at(context))
    if tally.calls:
        lines = hardware_errors.machine_checks(host, since)
        yield hardware_errors.machine_check_reading("processor.machine-checks", lines)
    offline = host.read(f"{CPU}/offline").decode().strip() if _has_offline(host) else ""
    if offline:
        yield NotTested(what=f"Processor cores {offline}", why="the kernel has not started them")


def _run(host: Host, tally: LoadTally, seconds: float, stop: StopRequest) -> Iterator[Progress]:
    before = throttle_counts(host)
    tally.has_counters = bool(before)
    begun = time.monotonic()
    turn = 0
    while (gone := time.monotonic() - begun) < seconds and not stop.asked:
        length = min(SLICE, seconds - gone)
        done = load.run(tally.cores, length, lambda *_: stop.asked, turn=turn)
        turn += 1
        note(host, tally, done, gone)
        tally.seconds = time.monotonic() - begun
        yield Progress(
            says=_words(tally),
            done=min(1.0, tally.seconds / seconds),
            seconds_left=seconds - gone,
        )
    tally.stopped = stop.asked
    after = throttle_counts(host)
    tally.throttled = {
        name: after[name] - count for name, count in before.items() if after.get(name, 0) > count
    }


def note(host: Host, tally: LoadTally, done: Sequence[load.CoreResult], gone: float) -> None:
    """Take a slice of load into the tally, with heat and clock of its end."""
    heat = hottest(host)
    tally.hottest = max((t for t in (tally.hottest, heat) if t is not None), default=None)
    for core in done:
        mhz = frequency(host, core.cpu)
        slowest = (f for f in (tally.slowest_mhz, mhz) if f is not None)
        tally.slowest_mhz = min(slowest, default=None)
        tally.calls += core.calls
        tally.wrong_results += core.wrong_count
        tally.wrong += [
            CoreError(
                core=w.cpu,
                pinned=core.pinned,
                kind=w.kind,
                expected=w.expected,
                got=w.got,
                seconds=gone + w.seconds,
                temperature=heat,
                mhz=mhz,
            )
            for w in core.wrong[: load.KEPT - len(tally.wrong)]
        ]


def frequency(host: Host, core: int) -> float | None:
    """MHz the core runs at, by the kernel's frequency driver; None without one."""
    kilohertz = number(host, f"{CPU}/cpu{core}/cpufreq/scaling_cur_freq")
    return None if kilohertz is None else kilohertz / 1000


def throttle_counts(host: Host) -> dict[str, int]:
    """Counters of the thermal monitor, by core; empty where there are none.

    Linux Documentation/ABI/testing/sysfs-devices-system-cpu: events since start.
    """
    found: dict[str, int] = {}
    for name in host.names(CPU):
        for counter in THROTTLES:
            value = counted(host, f"{CPU}/{name}/thermal_throttle/{counter}")
            if value is not None:
                found[f"{name} {counter}"] = value
    return found


def readings(tally: LoadTally, at: str) -> Iterator[Reading]:
    """From how the load went to readings."""
    yield _results(tally, at)
    if tally.calls:
        yield _throttling(tally, at)


def _results(tally: LoadTally, at: str) -> Reading:
    cores = sorted({w.core for w in tally.wrong if w.pinned})
    named = "core " + ", ".join(map(str, cores)) if cores else "a core that could not be told"
    outcome = Outcome.PASSED if tally.calls else Outcome.NOT_JUDGED
    says = f"{tally.calls} pieces of work on {len(tally.cores)} cores, every result right."
    if tally.wrong_results:
        outcome = Outcome.FAILED
        says = f"{tally.wrong_results} of {tally.calls} results wrong, on {named}."
    stopped = " Stopped by the technician." if tally.stopped else ""
    return Reading(
        check="processor.results",
        at=at,
        outcome=outcome,
        value=tally.wrong_results,
        unit="results",
        source=f"self-checking load, {tally.unit}",
        says=f"{says} {_conditions(tally)}{stopped}",
        why_not=None if tally.calls else "stopped before any work was done",
        details=tuple(map(_wrong_line, tally.wrong[:16])),
        conditions=("under load",),
    )


def _wrong_line(wrong: CoreError) -> str:
    core = f"core {wrong.core}" if wrong.pinned else "a core that could not be told"
    heat = "" if wrong.temperature is None else f", {wrong.temperature:.0f} °C"
    mhz = "" if wrong.mhz is None else f", {wrong.mhz:.0f} MHz"
    return (
        f"{core}: {wrong.kind} work gave {wrong.got:#x}, right is {wrong.expected:#x}, "
        f"after {wrong.seconds:.1f} s{heat}{mhz}"
    )


def _conditions(tally: LoadTally) -> str:
    parts = [f"{tally.seconds:.0f} s of load"]
    if tally.hottest is not None:
        parts.append(f"hottest {tally.hottest:.0f} °C")
    if tally.slowest_mhz is not None:
        parts.append(f"slowest {tally.slowest_mhz:.0f} MHz")
    return ", ".join(parts) + "."


def _throttling(tally: LoadTally, at: str) -> Reading:
    events = sum(tally.throttled.values())
    says = f"The processor slowed itself down {events} times because of heat."
    return Reading(
        check="processor.throttling",
        at=at,
        outcome=Outcome.NOT_JUDGED
        if not tally.has_counters
        else (Outcome.FAILED if events else Outcome.PASSED),
        value=events if tally.has_counters else None,
        unit="events",
        source=f"{CPU}/cpu*/thermal_throttle",
        says=says if events else ("No slowing down because of heat." if tally.has_counters else ""),
        why_not=None if tally.has_counters else "this processor does not count it",
        details=tuple(f"{name}: {count}" for name, count in sorted(tally.throttled.items())),
        conditions=("under load",),
    )


def _words(tally: LoadTally) -> str:
    wrong = f", {tally.wrong_results} wrong results" if tally.wrong_results else ""
    return f"{len(tally.cores)} cores at work, {_conditions(tally)}{wrong}"


def _has_offline(host: Host) -> bool:
    return "offline" in host.names(CPU)


def _at(context: Context) -> str:
    parts = [part.id for part in context.inventory.parts if part.kind == "processor"]
    return parts[0] if parts else "machine"
