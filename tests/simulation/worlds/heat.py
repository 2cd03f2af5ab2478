"""One hidden scale of heat a machine, and everything that is read of heat made from it.

The rise over the room under full load is one number; dust, a dead fan, a dry pipe multiply
it. Temperature, throttling, the kernel's log, the trip point, the cooling test, the way the
run ends: all follow from that number and the load of the moment, so they fail together.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import NamedTuple

from livecheck.records import Outcome, Reading

LIMIT, TRIP = 100.0, 105.0
"""Celsius; usual figures of laptop processors, from memory."""
MARGIN = 5.0
"""Below a limit; the tables' own, as the probes judge by it."""
PROCESSOR, COOLING = "processor@socket:1", "cooling@cooling"


class Heat(NamedTuple):
    """One look at the machine's heat."""

    room: float
    watts: float
    """Of full load."""
    full: float
    """Celsius that full load would lead to if nothing slowed it down."""
    load: float
    """Share of full load in this run."""
    fan_stands: bool

    @property
    def wants(self) -> float:
        """Celsius this run's load would lead to."""
        return self.room + self.load * (self.full - self.room)

    @property
    def hot(self) -> bool:
        """True: near its limit."""
        return self.wants > LIMIT - 15.0

    @property
    def dies(self) -> bool:
        """True: even slowed down it passes the trip point."""
        return self.wants > TRIP + 25.0


def design(dice: random.Random, *, thin: bool) -> tuple[float, float]:
    """Watts of full load, and the rise over the room a sound machine has under it.

    A thin machine's cooling is made to hold the limit by throttling (common practice, no
    source); the others keep 10 to 35 K below it.
    """
    rise = dice.uniform(72.0, 90.0) if thin else dice.uniform(40.0, 64.0)
    return dice.uniform(12.0, 45.0), rise


def readings(heat: Heat, dice: random.Random, *, loaded: bool) -> Iterator[Reading]:
    """What a run reads of heat. ``loaded``: the cooling test was made."""
    wants = heat.wants + dice.gauss(0.0, 1.5)
    seen = min(wants, LIMIT + dice.gauss(0.0, 0.8))
    over = max(0.0, wants - LIMIT)
    seconds = round(over * dice.lognormvariate(0.5, 0.6), 1)
    events = int(over * dice.lognormvariate(2.0, 0.7))
    yield _read("heat.temperature", PROCESSOR, seen > LIMIT - MARGIN, round(seen, 1), "°C")
    yield _read("heat.trip", PROCESSOR, wants > TRIP + 15.0, round(min(seen, TRIP), 1), "°C")
    yield _read("heat.throttled", PROCESSOR, seconds > 5.0, seconds, "s")
    logged = int(over > 2.0 and events / 20)
    yield _read("kernel.thermal", "machine", logged > 0, logged, "incidents")
    stands = heat.fan_stands and heat.wants > 75.0
    rpm = 0 if heat.fan_stands else int(dice.uniform(1800, 5200))
    yield _read("heat.fan", COOLING, stands, rpm, "1/min")
    if not loaded:
        return
    yield _read("processor.throttling", PROCESSOR, events > 0, events, "events")
    resistance = (heat.full - heat.room) / heat.watts
    stopped = wants > LIMIT - 2.0
    yield _read("heat.cooling", COOLING, stopped, round(resistance, 2), "K/W")
    yield _read("heat.stopped", COOLING, wants > LIMIT + 4.0, round(seen, 1), "°C")
    yield _read("heat.critical", COOLING, wants > TRIP + 15.0, round(seen, 1), "°C")


def _read(check: str, at: str, failed: bool, value: float, unit: str) -> Reading:
    outcome = Outcome.FAILED if failed else Outcome.PASSED
    return Reading(check=check, at=at, outcome=outcome, value=value, unit=unit)
