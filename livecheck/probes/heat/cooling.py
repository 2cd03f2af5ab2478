"""From a loaded stretch to readings of the cooling. Pure.

The trial is what the meters said at rest, under load and while cooling down.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from livecheck.meters import Channel, Sample, Sort
from livecheck.meters.sample import of_sort
from livecheck.records import Knowledge, NotTested, Outcome, Reading
from livecheck.thermal import Fit, Limits, Point, fit, judge, seconds_until, settled

REST, LOAD, COOL = "at rest", "load", "cooling down"
CHECK: Final = "heat.cooling"
NO_SENSOR: Final = (
    "this kernel finds no temperature sensor here: how hot the processor gets, whether the "
    "heatsink touches it and whether heat leaves the machine cannot be known (feel the air at "
    "the outlet, and listen for the fan)"
)


class HeatTrial(msgspec.Struct, kw_only=True):
    """How the load went, filled in while it runs."""

    channels: tuple[Channel, ...]
    samples: list[Sample] = []
    """Their steps are REST, LOAD and COOL."""
    stopped: str | None = None
    """Why the load ended early: words."""
    trip: tuple[Channel, float] | None = None
    """The sensor whose limit ended it, and what it showed."""
    sustained: float | None = None
    """W the processor's maker allows for lasting load."""


def of_phase(samples: Sequence[Sample], phase: str) -> list[Sample]:
    """The samples of one phase."""
    return [s for s in samples if s.step == phase]


def watts(channels: tuple[Channel, ...], sample: Sample) -> float | None:
    """The processor's power; the whole machine's from its battery where that is all there is."""
    found = of_sort(channels, sample, Sort.POWER)
    processor = [v for c, v in found if c.processor]
    if processor:
        return sum(processor)
    out = any(v == -1.0 for _, v in of_sort(channels, sample, Sort.STATUS))
    return sum(v for _, v in found) if found and out else None


def points(trial: HeatTrial, channel: Channel) -> list[Point]:
    """One sensor's trial with the power that heated it; from the load on without power."""
    index = trial.channels.index(channel)
    phases = ["", *(s.step for s in trial.samples)]
    found = [
        # The first second of a phase holds both powers.
        Point(s.seconds, celsius, watts(trial.channels, s), before in ("", s.step))
        for before, s in zip(phases, trial.samples, strict=False)
        if (celsius := s.values[index]) is not None
    ]
    if all(p.watts is not None for p in found[1:]):
        return found
    return [
        Point(s.seconds, celsius)
        for s in of_phase(trial.samples, LOAD)
        if (celsius := s.values[index]) is not None
    ]


def resolution(found: Sequence[Point]) -> float:
    """The smallest step between two temperatures a sensor gave, within 0.1 … 1 K."""
    heats = sorted({p.celsius for p in found})
    steps = [b - a for a, b in itertools.pairwise(heats) if b - a > 0.01]
    return min(1.0, max(0.1, min(steps, default=1.0)))


def fitted(trial: HeatTrial, channel: Channel) -> Fit:
    """The model of one sensor."""
    found = points(trial, channel)
    rest = [p for p in found if p.seconds <= _end_of_rest(trial)]
    still = settled(rest, resolution(found)) and len(rest) >= 5
    if still and rest[0].watts is None and len(found) > 1:
        # Power is a mean since the sample before: the first one has none.
        found = [msgspec.structs.replace(found[0], watts=found[1].watts), *found[1:]]
    with_power = all(p.watts is not None for p in found[1:])
    return fit(found, step=resolution(found), settled=still and with_power, sensor=channel.name)


def _end_of_rest(trial: HeatTrial) -> float:
    rest = of_phase(trial.samples, REST)
    return rest[-1].seconds if rest else float("-inf")


def main_sensor(trial: HeatTrial) -> Channel | None:
    """The processor's sensor nearest to its limit under load; else the one that rose most."""
    found: list[tuple[bool, float, Channel]] = []
    for index, channel in enumerate(trial.channels):
        if channel.sort is not Sort.TEMPERATURE:
            continue
        heats = [v for s in trial.samples if (v := s.values[index]) is not None]
        if heats:
            found.append((channel.processor, max(heats) - heats[0], channel))
    best = max(found, key=lambda one: (one[0], one[1]), default=None)
    return best[2] if best else None


def readings(trial: HeatTrial, at: str, knowledge: Knowledge) -> Iterator[Reading | NotTested]:
    """What the trial says of the cooling assembly ``at``."""
    sensor = main_sensor(trial)
    if sensor is None:
        yield NotTested(what="Cooling under load", why=NO_SENSOR, at=at)
        return
    model = fitted(trial, sensor)
    yield _cooling(trial, sensor, model, at, knowledge)
    yield _time_constant(sensor, model, at)
    yield from _stopped(trial, sensor, model, at)


def _cooling(
    trial: HeatTrial,
    sensor: Channel,
    model: Fit,
    at: str,
    knowledge: Knowledge,
) -> Reading:
    table = knowledge.checks[CHECK].limits
    limits = Limits(
        prompt=table["prompt_kelvin_per_watt"],
        margin=table["margin_celsius"],
        still_rpm=table["still_rpm"],
    )
    others = (
        fitted(trial, c) for c in trial.channels if c.sort is Sort.TEMPERATURE and c is not sensor
    )
    verdict = judge(model, limits, sensor.limit, sustained(trial), _fastest_fan(trial))
    outcome = Outcome.FAILED if verdict.bad else Outcome.PASSED
    if verdict.word == "not judged":
        outcome = Outcome.NOT_JUDGED
    return Reading(
        check=CHECK,
        at=at,
        outcome=outcome,
        value=_rounded(model.resistance, 3),
        unit="K/W",
        spread=_rounded(model.resistance_spread, 3),
        source=sensor.source,
        says=f"{verdict.says} Verdict: {verdict.word}.".strip(),
        why_not=verdict.why_not,
        details=(*_figures(model), *(line for one in others for line in _figures(one))),
        conditions=("under load",),
        device=sensor.source.split("/")[-2],
    )


def _time_constant(sensor: Channel, model: Fit, at: str) -> Reading:
    known = model.time_constant is not None
    return Reading(
        check="heat.time-constant",
        at=at,
        outcome=Outcome.NOT_JUDGED,
        value=_rounded(model.time_constant, 1),
        unit="s",
        spread=_rounded(model.time_constant_spread, 1),
        source=sensor.source,
        says=f"{sensor.name} follows the load in {model.time_constant:.0f} s." if known else "",
        why_not="it is for comparing two runs" if known else model.why_not,
        conditions=("under load",),
    )


def _stopped(trial: HeatTrial, sensor: Channel, model: Fit, at: str) -> Iterator[Reading]:
    """Whether the load ran to its end, and whether the machine would have switched itself off.

    A chip that runs up to its own limit is slowed down there, which thin machines do when
    all is well; the point where the kernel switches off is reached by none of them.
    """
    index = trial.channels.index(sensor)
    heats = [v for s in trial.samples if (v := s.values[index]) is not None]
    loaded = of_phase(trial.samples, LOAD)
    seconds = loaded[-1].seconds - loaded[0].seconds if len(loaded) > 1 else 0.0
    says = f"{seconds:.0f} s of load, hottest {max(heats):.0f} °C at {sensor.name}."
    outcome, why, most = Outcome.PASSED, None, max(heats)
    if trial.trip is not None:
        channel, celsius = trial.trip
        most = celsius
        outcome = Outcome.FAILED
        says = (
            f"The load was ended after {seconds:.0f} s: {channel.name} stood at {celsius:.0f} °C, "
            f"and at {channel.limit:.0f} °C the machine steps in."
        )
    elif trial.stopped is not None:
        outcome, why = Outcome.NOT_JUDGED, trial.stopped
    until = seconds_until(model, sensor.limit) if sensor.limit is not None else None
    if until and trial.trip is None:
        says += f" It would have reached its limit of {sensor.limit:.0f} °C in {until:.0f} s more."
    for check in _stops(trial):
        yield Reading(
            check=check,
            at=at,
            outcome=outcome,
            value=most,
            unit="°C",
            source=sensor.source,
            says=says,
            why_not=why,
            conditions=("under load",),
        )


def _stops(trial: HeatTrial) -> tuple[str, ...]:
    """The checks that what ended the load tells of, or that its running to the end does."""
    if trial.trip is not None:
        return ("heat.critical",) if trial.trip[0].ends else ("heat.stopped",)
    if any(channel.ends for channel in trial.channels):
        return ("heat.critical", "heat.stopped")
    return ("heat.stopped",)


def sustained(trial: HeatTrial) -> float | None:
    """W to judge by: what the maker allows for lasting load, or what was drawn if that is less."""
    drawn = [
        p for s in of_phase(trial.samples, LOAD) if (p := watts(trial.channels, s)) is not None
    ]
    most = max(drawn, default=None)
    if trial.sustained is None or most is None:
        return most
    return min(trial.sustained, most)


def _fastest_fan(trial: HeatTrial) -> float | None:
    """1/min of the fastest fan at the end of the load; None where none is counted."""
    loaded = of_phase(trial.samples, LOAD)[-10:]
    return max((v for s in loaded for _, v in of_sort(trial.channels, s, Sort.FAN)), default=None)


def _figures(model: Fit) -> tuple[str, ...]:
    if not model.judged:
        return (f"{model.sensor}: not judged, {model.why_not}",)
    words = [f"time constant {model.time_constant:.0f} ± {model.time_constant_spread:.0f} s"]
    if model.resistance is not None:
        words.insert(0, f"{model.resistance:.2f} ± {model.resistance_spread:.2f} K/W")
    if model.prompt is not None:
        words.append(f"of it at once {model.prompt:.2f} K/W")
    if model.steady is not None and model.watts is not None:
        words.append(f"{model.steady:.0f} °C in the end under {model.watts:.0f} W")
    words.append(f"{model.residual:.2f} K unexplained")
    return (f"{model.sensor}: {', '.join(words)}",)


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)
