"""How a record ended, as facts: hot or cool, rising or flat, fed or not, at work or not. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.meters import Channel, Sample, Sort
from livecheck.meters.channels import STATES
from livecheck.meters.sample import hottest, of_sort
from livecheck.recorder.aftermath import Aftermath, Panic
from livecheck.recorder.lines import Recorded
from livecheck.records import Record

LAST_SECONDS: Final = 20.0
"""The stretch before the end that is looked at for slopes and means."""
LOADED_PERCENT: Final = 50.0
"""Mean load from which the machine counts as at work (assumed)."""
ASLEEP: Final = "asleep"
"""The step of a machine that is put to sleep, until it was awake again."""
CRITICAL_WORDS: Final = ("critical temperature reached", "reached critical temperature")
"""drivers/thermal/thermal_core.c, drivers/thermal/…: the kernel's own switch-off by heat."""


class Heat(Record, frozen=True, kw_only=True):
    """The sensor nearest to its limit at the end."""

    name: str
    celsius: float
    limit: float | None
    slope: float
    """K/s over the last stretch."""


class BatteryAtEnd(Record, frozen=True, kw_only=True):
    """The battery at the end; None: not told."""

    percent: float | None = None
    volts: float | None = None
    discharging: bool | None = None
    sag: float | None = None
    """V its voltage fell in the last stretch."""


class Ending(Record, frozen=True, kw_only=True):
    """Everything known of one end."""

    seconds: float
    """From the first sample to the last."""
    step: str = ""
    loaded: bool | None = None
    heat: Heat | None = None
    adapter: str = "unknown"
    """``in``, ``lost`` (within the last stretch), ``out`` or ``unknown``."""
    lost_before: float | None = None
    """Seconds between the loss of the adapter and the last sample."""
    battery: BatteryAtEnd | None = None
    """None: none answered."""
    asked: bool = False
    """The system ended every process in order."""
    critical: str | None = None
    """The kernel's own words when it switched off because of heat."""
    last_words: tuple[str, ...] = ()
    """Kernel messages of the last stretch."""
    panics: tuple[Panic, ...] = ()
    """Crash records that were not there when the recording began."""
    hardware: tuple[str, ...] = ()
    gap: float | None = None
    """Seconds from the last sample to the start of the next kernel, by the machine's clock."""
    errors_rose: tuple[str, ...] = ()
    """Error counters that rose while it was recorded."""


def ending(recorded: Recorded, after: Aftermath) -> Ending | None:
    """The facts of one end; None when not one sample is whole."""
    samples, channels = recorded.samples, recorded.header.channels
    if not samples:
        return None
    last = samples[-1]
    stretch = [s for s in samples if last.seconds - s.seconds <= LAST_SECONDS]
    words = tuple(t.text for t in recorded.told if last.seconds - t.seconds <= LAST_SECONDS)
    adapter, lost = _adapter(channels, samples)
    known = set(recorded.header.panics)
    return Ending(
        seconds=last.seconds - samples[0].seconds,
        step=last.step,
        loaded=_loaded(channels, stretch),
        heat=_heat(channels, stretch),
        adapter=adapter,
        lost_before=lost,
        battery=_battery(channels, stretch),
        asked=recorded.closing is not None and recorded.closing.how == "asked",
        critical=next((w for w in words if any(c in w for c in CRITICAL_WORDS)), None),
        last_words=words,
        panics=tuple(p for p in after.panics if p.name not in known),
        hardware=after.hardware,
        gap=_gap(samples, after),
        errors_rose=tuple(_rises(channels, samples)),
    )


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None


def _loaded(channels: tuple[Channel, ...], stretch: Sequence[Sample]) -> bool | None:
    loads = [v for s in stretch[-6:] for _, v in of_sort(channels, s, Sort.LOAD)]
    mean = _mean(loads)
    return None if mean is None else mean >= LOADED_PERCENT


def _heat(channels: tuple[Channel, ...], stretch: Sequence[Sample]) -> Heat | None:
    worst = hottest(channels, stretch[-1])
    if worst is None:
        return None
    channel, celsius = worst
    index = channels.index(channel)
    course = [(s.seconds, v) for s in stretch if (v := s.values[index]) is not None]
    return Heat(name=channel.name, celsius=celsius, limit=channel.limit, slope=slope(course))


def slope(course: Sequence[tuple[float, float]]) -> float:
    """Least-squares slope of (seconds, value); 0 where there are fewer than three."""
    if len(course) < 3:
        return 0.0
    middle = sum(t for t, _ in course) / len(course)
    mean = sum(v for _, v in course) / len(course)
    spread = sum((t - middle) ** 2 for t, _ in course)
    if not spread:
        return 0.0
    return sum((t - middle) * (v - mean) for t, v in course) / spread


def _adapter(channels: tuple[Channel, ...], samples: Sequence[Sample]) -> tuple[str, float | None]:
    """Whether power came in at the end, and how long before the end it was lost."""
    fed: list[tuple[float, bool]] = []
    for sample in samples:
        jacks = [v for _, v in of_sort(channels, sample, Sort.ADAPTER)]
        if jacks:
            fed.append((sample.seconds, any(jacks)))
    if not fed:
        return "unknown", None
    if fed[-1][1]:
        return "in", None
    end = samples[-1].seconds
    last_fed = max((when for when, there in fed if there), default=None)
    if last_fed is not None and end - last_fed <= LAST_SECONDS:
        return "lost", end - last_fed
    return "out", None if last_fed is None else end - last_fed


def _battery(channels: tuple[Channel, ...], stretch: Sequence[Sample]) -> BatteryAtEnd | None:
    """The fullest battery that answered in the last sample."""
    last = stretch[-1]
    percents = [v for _, v in of_sort(channels, last, Sort.CHARGE)]
    volts = [v for _, v in of_sort(channels, last, Sort.VOLTS)]
    states = [v for _, v in of_sort(channels, last, Sort.STATUS)]
    if not percents and not any(volts):
        return None
    course = [v for s in stretch for _, v in of_sort(channels, s, Sort.VOLTS)[:1]]
    return BatteryAtEnd(
        percent=max(percents, default=None),
        volts=max(volts, default=None),
        discharging=STATES.index("Discharging") - 1 in states if states else None,
        sag=max(course) - course[-1] if course else None,
    )


def _gap(samples: Sequence[Sample], after: Aftermath) -> float | None:
    wall = next((s.wall for s in reversed(samples) if s.wall is not None), None)
    if wall is None or after.up_since is None:
        return None
    return after.up_since - wall


def _rises(channels: tuple[Channel, ...], samples: Sequence[Sample]) -> Iterator[str]:
    for index, channel in enumerate(channels):
        if channel.sort is not Sort.ERRORS:
            continue
        counts = [v for s in samples if (v := s.values[index]) is not None]
        if counts and counts[-1] > counts[0]:
            yield f"{channel.name}: {counts[-1] - counts[0]:.0f}"
