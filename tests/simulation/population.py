"""How a population of machines behaves: the engine's own, and one kept apart from all tuning.

The engine was worked on with its own population, other seeds than the scored one.
``SHIFTED`` differs in everything that working on one population could have fitted: which
faults are usual, how readily each shows in each check, how many come and go, how alike a
fault shows from run to run, how many false alarms there are and how many of them stay.
"""

from __future__ import annotations

import random
from functools import cache
from typing import Final, NamedTuple


class Population(NamedTuple):
    """The figures of one population; all invented."""

    name: str
    tilt: float = 0.0
    """Spread (of the natural log) of each fault type's share about the one of faults.py."""
    wobble: float = 0.0
    """The same of each fault type's chance to show in each check."""
    steady: float = 1.0
    """Factor on the share of faults that act in every run."""
    same: tuple[float, float] = (0.87, 0.65)
    """Correlation of what a steady fault (one that comes and goes) shows, with all its runs."""
    day: tuple[float, float] = (0.35, 0.45)
    """The same with all checks of one run."""
    stays: float = 0.4
    """Share of false alarms that come back in every run as long as the part is in."""
    alarms: float = 0.6
    """Spread (of the natural log) of how many false alarms a machine has."""
    second: float = 0.06
    """Share of machines with a second, independent fault."""
    contact_cured: float = 0.85
    """Chance that taking a part out and putting one back cures a bad contact."""
    bad_spare: float = 0.01
    """Chance that a known-good part is not."""

    def share(self, fault: str, usual: float) -> float:
        """Weight of a fault type."""
        return usual * _factor(self.tilt, fault)

    def rate(self, fault: str, check: str, usual: float) -> float:
        """Chance that a fault type shows in a check."""
        return min(0.99, usual * _factor(self.wobble, f"{fault}/{check}"))


OWN: Final = Population("own")
SHIFTED: Final = Population(
    "shifted",
    tilt=0.5,
    wobble=0.3,
    steady=0.85,
    same=(0.7, 0.5),
    day=(0.5, 0.6),
    stays=0.2,
    alarms=0.8,
    second=0.08,
    contact_cured=0.75,
    bad_spare=0.02,
)
POPULATIONS: Final = {one.name: one for one in (OWN, SHIFTED)}


@cache
def _factor(spread: float, name: str) -> float:
    return random.Random(name).lognormvariate(0.0, spread) if spread else 1.0
