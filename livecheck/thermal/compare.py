"""Two fits of the same machine: before and after cleaning, by resistance and time constant.

Never by peak temperature: that depends on the room and on how long the load ran.
"""

from __future__ import annotations

import math
from typing import Final

import msgspec

SURE: Final = 2.0
"""Standard uncertainties of the difference beyond which it counts as one (95 %)."""
WORTH: Final = 0.05
"""Relative change below which nobody would notice it (assumed)."""


class Figure(msgspec.Struct, frozen=True):
    """A value with its standard uncertainty."""

    value: float
    spread: float


class Comparison(msgspec.Struct, frozen=True, kw_only=True):
    """What changed."""

    change: str
    """``better``, ``worse``, ``the same``, ``cannot tell``."""
    says: str
    resistance_change: float | None = None
    """Relative: −0.3 is a third less."""
    time_constant_change: float | None = None


def compare(
    resistance: tuple[Figure | None, Figure | None],
    time_constant: tuple[Figure | None, Figure | None],
) -> Comparison:
    """(before, after) of both figures; None where a run could not judge it.

    Resistance decides where both runs have it. Without metered power the time constant
    stands in: at the same heat capacity it moves with the resistance.
    """
    by_resistance = _change(*resistance)
    by_time = _change(*time_constant)
    decides = by_resistance if by_resistance is not None else by_time
    if decides is None:
        return Comparison(
            change="cannot tell",
            says="The two runs cannot be compared: one of them could not judge the cooling.",
        )
    share, sure = decides
    what, pair, unit = ("Thermal resistance", resistance, "K/W")
    if by_resistance is None:
        what, pair, unit = ("The time constant", time_constant, "s")
    before, after = pair
    assert before is not None and after is not None
    figures = f"{before.value:.3g} {unit} before, {after.value:.3g} {unit} after"
    if not sure:
        change, words = "cannot tell", "the difference is within what cannot be told"
    elif abs(share) < WORTH:
        change, words = "the same", "nothing changed that matters"
    else:
        change = "better" if share < 0 else "worse"
        words = f"{abs(share):.0%} {'less' if share < 0 else 'more'}"
    if abs(share) < WORTH and not sure:
        change, words = "the same", "nothing changed that can be told"
    return Comparison(
        change=change,
        says=f"{what}: {figures}; {words}.",
        resistance_change=by_resistance[0] if by_resistance else None,
        time_constant_change=by_time[0] if by_time else None,
    )


def _change(before: Figure | None, after: Figure | None) -> tuple[float, bool] | None:
    """Relative change, and whether it is more than chance."""
    if before is None or after is None or before.value <= 0:
        return None
    apart = after.value - before.value
    width = math.hypot(before.spread, after.spread)
    return apart / before.value, abs(apart) > SURE * width
