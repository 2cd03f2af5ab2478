"""One fault in one machine: when it acts, what it shows, how it changes."""

from __future__ import annotations

import random
from math import exp, sqrt
from typing import Final

from tests.simulation.dice import NORMAL
from tests.simulation.worlds.draw import World
from tests.simulation.worlds.kind import PART, Kind

_SPREAD: Final = 1.4
"""Of the log of acts an hour, from fault to fault of one world. Assumed: a factor of four."""
_WORSENS: Final = 2.0
"""Factor on acts an hour from run to run of a fault that gets worse."""
_DIES: Final = 0.15
"""Chance a run that such a fault ends in a part that is dead."""


class Fault:
    """A fault and where it sits now."""

    def __init__(self, kind: Kind, where: str, world: World, dice: random.Random) -> None:
        self.kind = kind
        self.where = where
        """Part key, place id, controller id, or the name of its seat."""
        self.world = world
        self.gone = False
        self.dead = False
        """True: it got worse on the bench until nothing answered any more."""
        self.steady = dice.random() < kind.steady
        self.rate = world.acts_an_hour * exp(dice.gauss(0.0, _SPREAD))
        self.hot_only = dice.random() < kind.hot_only
        self.worsens = dice.random() < kind.worsens
        self.hidden = dice.random() < world.hidden
        self.heat = dice.uniform(*kind.heat)
        # What kind of outward sign it prefers is drawn once, so that a cure stays a cure.
        self.reseats = dice.random() < kind.cure

    def acts(self, hours: float, hot: bool, dice: random.Random) -> bool:
        """Whether it acts in a run of so many hours of load."""
        if self.dead:
            return True
        if self.hot_only and not hot:
            return False
        return self.steady or dice.random() < 1.0 - exp(-self.rate * hours)

    def age(self, dice: random.Random) -> None:
        """One more run went by."""
        if not self.worsens:
            return
        self.rate *= _WORSENS
        if self.kind.seat == PART and dice.random() < _DIES:
            self.dead = True

    def shows(self, mood: float, check: str, dice: random.Random) -> bool:
        """True when, acting, it makes a check fail in this run.

        ``mood`` is shared by all checks of the run; the trait by all runs of the check.
        """
        usual = self.kind.silent if check == "silent" else self.kind.shows.get(check, 0.0)
        if check == "silent" and self.dead:
            return True
        if usual <= 0.0 or self.hidden:
            return False
        world = self.world
        chance = world.detect(self.kind.name, check, min(usual, 0.99))
        trait = world.own(f"trait/{self.kind.name}/{self.where}/{check}")
        rest = sqrt(max(0.0, 1.0 - world.same**2 - world.day**2))
        value = world.same * trait + world.day * mood + rest * dice.gauss(0.0, 1.0)
        return value < NORMAL.inv_cdf(min(max(chance, 1e-4), 0.9999))

    def touches(self, place: str) -> bool:
        """For a fault that is felt all over the board: whether it is felt at this place."""
        return self.world.own(f"felt/{self.kind.name}/{place}") > 0.3
