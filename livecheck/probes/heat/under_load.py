"""Heat and power under a controlled load: rest, load, cooling down, watched each second.

The load checks its own results, as the processor's test does. It ends at the first sensor
that comes near its limit, at the technician's key, or when the thermal model knows enough.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Final

from livecheck.capture import CapturedHost
from livecheck.host import Host, number, text
from livecheck.meters import Channel, Sampler, Sort
from livecheck.meters.sample import hottest
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.control import StopRequest
from livecheck.probes.heat.cooling import (
    COOL,
    LOAD,
    NO_SENSOR,
    REST,
    HeatTrial,
    fitted,
    main_sensor,
    readings,
    watts,
)
from livecheck.probes.power import under_load
from livecheck.records import NotTested, Outcome, Reading
from livecheck.thermal import Fit

try:
    from livecheck.native import load
except ImportError as error:
    MISSING: str | None = str(error)
else:
    MISSING = None

PHASES: Final = {
    "quick": (10.0, 120.0, 20.0),
    "full": (30.0, 480.0, 90.0),
    "soak": (60.0, 1800.0, 120.0),
}
"""Seconds of rest, of load at most, of cooling down."""
TRIP_SECONDS: Final = 0.4
"""Between two looks at the limits while the load runs."""
SAMPLE_SECONDS: Final = 1.0
SLICE_SECONDS: Final = 5.0
"""Of load between two reports; a fit is tried at each."""
ENOUGH_SPREAD: Final = 0.04
"""Relative uncertainty of resistance and time constant at which a quick load may end."""
ENOUGH_TAUS: Final = 2.0


def probe(context: Context) -> Iterator[Yield]:
    """Load every core and fit what the sensors do; stopping keeps what was seen."""
    what = "Heat and power under load"
    if isinstance(context.host, CapturedHost):
        yield NotTested(what=what, why="a recorded machine cannot be loaded")
        return
    sampler = Sampler(context.host)
    heat = any(c.sort is Sort.TEMPERATURE for c in sampler.channels)
    if not heat:
        yield NotTested(what="Cooling under load", why=NO_SENSOR)
    if not heat and not any(c.sort in (Sort.VOLTS, Sort.ADAPTER) for c in sampler.channels):
        yield NotTested(what=what, why="no sensor of heat and none of power to watch it by")
        return
    if MISSING is not None:
        why = f"the compiled load is missing from this installation: {MISSING}"
        yield NotTested(what=what, why=why)
        return
    trial = HeatTrial(
        channels=sampler.channels, samples=[], sustained=sustained_limit(context.host)
    )
    with StopRequest() as stop:
        yield from _Load(context, sampler, trial, stop).run()
    if heat:
        yield from readings(trial, _cooling(context), context.knowledge)
    yield from under_load.readings(
        trial.channels, trial.samples, context.inventory, context.knowledge
    )


def _cooling(context: Context) -> str:
    return next((p.id for p in context.inventory.parts if p.kind == "cooling"), "machine")


def sustained_limit(host: Host) -> float | None:
    """W of the package's long-term limit (Documentation/power/powercap/powercap.rst)."""
    for listed in host.udev("powercap"):
        if not (text(host, f"{listed.path}/name") or "").startswith("package-"):
            continue
        if text(host, f"{listed.path}/constraint_0_name") != "long_term":
            continue
        limit = number(host, f"{listed.path}/constraint_0_power_limit_uw")
        # Firmware that sets no limit writes figures no laptop can draw.
        if limit and 1e6 <= limit <= 150e6:
            return limit / 1e6
    return None


class _Load:
    """One trial of rest, load and cooling down."""

    def __init__(
        self, context: Context, sampler: Sampler, trial: HeatTrial, stop: StopRequest
    ) -> None:
        self._host = context.host
        self._depth = context.depth
        self._sampler = sampler
        self._trial = trial
        self._stop = stop
        self._margin = context.knowledge.checks["heat.cooling"].limits["stop_margin_celsius"]
        self._sampled = float("-inf")
        self._looked = float("-inf")
        self._turn = 0

    def run(self) -> Iterator[Yield]:
        """The three phases; any of them ends early when it must."""
        rest, most, cool = PHASES[self._depth]
        total = rest + most + cool
        yield from self._still(REST, rest, total, 0.0)
        yield from self._loaded(most, total, rest)
        if not self._stop.asked:
            yield from self._still(COOL, cool, total, total - cool)

    def _still(self, phase: str, seconds: float, total: float, before: float) -> Iterator[Yield]:
        begun = self._host.clock()
        while (gone := self._host.clock() - begun) < seconds and not self._stop.asked:
            self._sample(phase)
            if int(gone * 4) % 20 == 0:
                yield self._progress(phase, before + gone, total, None)
            # Short waits, so that a key is heard within a second.
            self._host.wait(0.25 * SAMPLE_SECONDS)

    def _loaded(self, most: float, total: float, before: float) -> Iterator[Yield]:
        cores = sorted(os.sched_getaffinity(0))
        begun = self._host.clock()
        wrong = 0
        # A remainder shorter than a look is no load.
        while (gone := self._host.clock() - begun) < most - TRIP_SECONDS:
            done = load.run(
                cores, min(SLICE_SECONDS, most - gone), lambda *_: self._must_end(), turn=self._turn
            )
            self._turn += 1
            wrong += sum(core.wrong_count for core in done)
            if self._stop.asked:
                self._trial.stopped = "stopped by the technician"
            if self._stop.asked or self._trial.trip is not None:
                break
            model = self._model()
            yield self._progress(LOAD, before + self._host.clock() - begun, total, model)
            if self._depth == "quick" and _enough(model, self._host.clock() - begun):
                break
        if wrong:
            yield _wrong(wrong)

    def _must_end(self) -> bool:
        """Asked some ten times a second while the load runs."""
        now = self._host.clock()
        if self._stop.asked:
            return True
        if now - self._sampled >= SAMPLE_SECONDS:
            self._sample(LOAD)
        if now - self._looked >= TRIP_SECONDS:
            self._looked = now
            self._trial.trip = self._trial.trip or self._tripped()
        return self._trial.trip is not None

    def _tripped(self) -> tuple[Channel, float] | None:
        for channel, celsius in self._sampler.temperatures():
            if channel.limit is not None and celsius >= channel.limit - self._margin:
                return channel, celsius
        return None

    def _sample(self, phase: str) -> None:
        now = self._host.clock()
        if now - self._sampled < 0.9 * SAMPLE_SECONDS:
            return
        self._sampled = now
        self._trial.samples.append(self._sampler.take(phase))

    def _model(self) -> Fit | None:
        sensor = main_sensor(self._trial)
        return None if sensor is None else fitted(self._trial, sensor)

    def _progress(self, phase: str, gone: float, total: float, model: Fit | None) -> Progress:
        trial = self._trial
        words = [phase] if phase != REST else [f"{REST} (heatsink and vents will get hot)"]
        if trial.samples:
            worst = hottest(trial.channels, trial.samples[-1])
            power = watts(trial.channels, trial.samples[-1])
            words += [f"{worst[1]:.0f} °C"] if worst else []
            words += [f"{power:.1f} W"] if power is not None else []
        if model is not None and model.judged and model.steady is not None:
            words.append(f"settles at {model.steady:.0f} °C")
        left = max(0.0, total - gone)
        return Progress(says=", ".join(words), done=min(1.0, gone / total), seconds_left=left)


def _enough(model: Fit | None, loaded: float) -> bool:
    """Whether longer load would tell nothing new."""
    if model is None or not model.judged:
        return False
    tau, spread = model.time_constant, model.time_constant_spread
    if tau is None or spread is None or spread > ENOUGH_SPREAD * tau:
        return False
    if loaded < ENOUGH_TAUS * tau:
        return False
    if model.resistance is None or model.resistance_spread is None:
        return True
    return model.resistance_spread <= ENOUGH_SPREAD * model.resistance


def _wrong(count: int) -> Reading:
    return Reading(
        check="processor.results",
        at="machine",
        outcome=Outcome.FAILED,
        value=count,
        unit="results",
        source="self-checking load while heat was measured",
        says=f"{count} results came out wrong under load.",
        conditions=("under load",),
    )
