"""Made-up bodies that heat up, worked out without the package's own formulae."""

from __future__ import annotations

import math
import random

from livecheck.thermal import Point


def warmed(
    resistance: float,
    capacity: float,
    watts: float,
    air: float,
    seconds: int,
    step: float = 0.0,
) -> list[Point]:
    """T(t) = T_air + P·R·(1 − e^(−t/RC)), once a second, rounded to the sensor's step."""
    tau = resistance * capacity
    found = [Point(0.0, air, 0.0)]
    for t in range(1, seconds + 1):
        celsius = air + watts * resistance * (1 - math.exp(-t / tau))
        found.append(Point(float(t), round(celsius / step) * step if step else celsius, watts))
    return found


def loaded(
    resistance: float,
    capacity: float,
    powers: list[float],
    air: float = 30.0,
    prompt: float = 0.0,
    step: float = 0.0,
    unrest: float = 0.0,
    seed: int = 1,
) -> list[Point]:
    """A body under changing power, integrated in steps of 1/50 s (Euler)."""
    dice = random.Random(seed)
    heat = air + resistance * powers[0]
    found: list[Point] = []
    for second, power in enumerate(powers):
        watts = power * (1 + unrest * dice.gauss(0, 1))
        if second:
            for _ in range(50):
                heat += (watts - (heat - air) / resistance) / capacity / 50
        celsius = heat + prompt * watts
        found.append(Point(float(second), round(celsius / step) * step if step else celsius, watts))
    return found
