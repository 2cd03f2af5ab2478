"""The first-order thermal model, and what follows from it.

Heat P (W) flows from the chip through a resistance R (K/W) to the air and charges a heat
capacity C (J/K) on its way: C·dT/dt = P − (T − T_air)/R, so that under constant power
T(t) = T_air + P·R·(1 − e^(−t/τ)) with τ = R·C (JEDEC JESD51 for R, from memory; the
solution is arithmetic). A sensor in the chip also sees a prompt part: it follows power
within a second, because the way from chip to heatsink stores next to no heat.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec


class Point(msgspec.Struct, frozen=True):
    """One sample of one sensor."""

    seconds: float
    celsius: float
    watts: float | None = None
    """Mean power since the point before; None: not metered."""
    counted: bool = True
    """False: power changed within its second, so its temperature is not held against a mean."""


class Fit(msgspec.Struct, frozen=True, kw_only=True):
    """What was fitted to one sensor's course, with standard uncertainties."""

    sensor: str = ""
    judged: bool
    why_not: str | None = None
    """Why the data cannot tell, where they cannot."""
    air: float | None = None
    """°C the sensor would show without any power (not the room's temperature as such)."""
    resistance: float | None = None
    """K/W from the sensor to the air: the slow and the prompt part together."""
    resistance_spread: float | None = None
    prompt: float | None = None
    """K/W that follow power at once (chip to heatsink); None: no such part was seen."""
    time_constant: float | None = None
    """s of the slow part."""
    time_constant_spread: float | None = None
    steady: float | None = None
    """°C it settles at if the power of the last point goes on."""
    last: float | None = None
    """°C the model gives for the last point."""
    residual: float | None = None
    """K, root mean square of what the model does not explain."""
    watts: float | None = None
    """Power the steady temperature was worked out for."""
    points: int = 0
    seconds: float = 0.0
    rise: float = 0.0
    """K between the coolest and the hottest point."""

    @property
    def capacity(self) -> float | None:
        """J/K of what the slow part heats up."""
        slow = (self.resistance or 0.0) - (self.prompt or 0.0)
        return self.time_constant / slow if self.time_constant and slow > 0 else None


def steady(fitted: Fit, watts: float) -> float | None:
    """°C the sensor settles at under that power; None without a judged resistance."""
    if not fitted.judged or fitted.air is None or fitted.resistance is None:
        return None
    return fitted.air + fitted.resistance * watts


def seconds_until(fitted: Fit, celsius: float) -> float | None:
    """Seconds until the sensor reaches a temperature under the present power.

    0 when it is there already; None when it never gets there or cannot be told.
    """
    end, now, tau = fitted.steady, fitted.last, fitted.time_constant
    if not fitted.judged or end is None or now is None or tau is None:
        return None
    if now >= celsius:
        return 0.0
    if end <= celsius:
        return None
    return tau * math.log((end - now) / (end - celsius))


def settled(points: Sequence[Point], step: float = 1.0) -> bool:
    """Whether these points lie within two sensor steps: nothing is heating or cooling."""
    heats = [p.celsius for p in points]
    return len(heats) >= 3 and max(heats) - min(heats) <= 2 * step
