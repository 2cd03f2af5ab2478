"""One world held over many cases: a shop sees the same kinds of fault behave alike for years.

How readily each kind of fault shows in each check, how often each check alarms, how usual each
kind is and what the technician is like belong to the world; what happens to be so of one machine
(what its fault shows again and again, which alarms stay with it) is each machine's own.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from math import exp
from typing import Final

from livecheck.records import Knowledge
from tests.simulation.worlds.draw import World
from tests.simulation.worlds.kind import Kind
from tests.simulation.worlds.technician import Technician

_OF_THE_WORLD: Final = ("detect/", "alarm/", "share/")
_TILT: Final = 0.5
"""Spread of the log of how usual each kind of fault is in this world's shop. Assumed."""


class HeldWorld(World):
    """The figures of one world, with chances of its own for each case."""

    def __init__(self, seed: int, case: int) -> None:
        super().__init__(seed)
        self._case = case

    def own(self, name: str) -> float:
        """As in any world; what a machine happens to have is drawn with its case."""
        seed = self._seed if name.startswith(_OF_THE_WORLD) else self._case
        return random.Random(f"{seed}/{name}").gauss(0.0, 1.0)


class OneShop(Technician):
    """A machine of a world that others share."""

    def __init__(self, world: int, case: int, tables: Knowledge) -> None:
        self._of = world
        super().__init__(case, tables)

    def drawn(self, seed: int) -> World:
        """The world that is held."""
        return HeldWorld(self._of, seed)

    def _pick(self, group: Sequence[Kind]) -> Kind:
        tilted = [kind.share * exp(_TILT * self.world.own(f"share/{kind.name}")) for kind in group]
        return self.dice.choices(group, tilted)[0]
