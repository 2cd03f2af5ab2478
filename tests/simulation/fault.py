"""One injected fault: where it sits, when it acts, in which checks it shows."""

from __future__ import annotations

import random

from tests.simulation.faults import FaultType


class Fault:
    """One injected fault and where it sits now."""

    def __init__(self, kind: FaultType, where: str, dice: random.Random) -> None:
        self.type = kind
        self.where = where
        """Part key, place id (place and contact), controller id, ``mainboard`` or ``software``."""
        steady = dice.random() < kind.steady
        self.acts = 1.0 if steady else dice.uniform(0.15, 0.85)
        self.gone = False
        self._traits: dict[str, float] = {}

    def trait(self, check: str, dice: random.Random) -> float:
        """How readily this very fault shows in a check: the same in every run."""
        return self._traits.setdefault(check, dice.gauss(0.0, 1.0))

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
