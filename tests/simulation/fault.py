"""One injected fault: where it sits, when it acts, in which checks it shows."""

from __future__ import annotations

import random
from math import sqrt

from tests.simulation.dice import NORMAL
from tests.simulation.faults import FaultType
from tests.simulation.population import Population


class Fault:
    """One injected fault and where it sits now."""

    def __init__(
        self, kind: FaultType, where: str, dice: random.Random, population: Population
    ) -> None:
        self.type = kind
        self.population = population
        self.where = where
        """Part key, place id (place and contact), controller id, ``mainboard`` or ``software``."""
        steady = dice.random() < kind.steady * population.steady
        self.acts = 1.0 if steady else dice.uniform(0.15, 0.85)
        self.gone = False
        self._traits: dict[str, float] = {}

    def trait(self, check: str, dice: random.Random) -> float:
        """How readily this very fault shows in a check: the same in every run."""
        return self._traits.setdefault(check, dice.gauss(0.0, 1.0))

    def shows(self, mood: float, check: str, rate: float, dice: random.Random) -> bool:
        """True when the acting fault makes a check fail in this run.

        ``mood`` is shared by all checks of the run, the trait by all runs of the check.
        """
        if rate <= 0.0:
            return False
        chance = self.population.rate(self.type.name, check, rate)
        trait = self.trait(check, dice)
        # A steady fault shows in the same checks day after day; one that comes and goes less so.
        fitful = self.acts != 1.0
        same, day = self.population.same[fitful], self.population.day[fitful]
        rest = sqrt(1.0 - same**2 - day**2)
        value = day * mood + same * trait + rest * dice.gauss(0.0, 1.0)
        return value < NORMAL.inv_cdf(min(chance, 0.999))

    def unit(self) -> str:
        """What has to be ordered, or done, to be rid of it."""
        if self.type.role in ("controller", "board"):
            return "mainboard"
        if self.type.role == "place":
            own = {"adapter": "power-jack", "panel": "panel-connector"}
            return own.get(self.type.kind, "mainboard")
        if self.type.role == "part":
            return self.where
        return self.type.role
