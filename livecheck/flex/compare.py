"""The customer's adapter against a known-good one at the same jack. Pure.

Losses while a lead is moved come at a rate; two watches are compared by the rate's share
(conditional test of two Poisson counts: Przyborowski and Wilenski, Biometrika 31 (1940),
from memory).
"""

from __future__ import annotations

from math import comb
from typing import Final

import msgspec

from livecheck.flex.counter import FlexResult

SURE: Final = 0.05


class Trial(msgspec.Struct, frozen=True):
    """What two watches say together."""

    at_fault: str
    """``adapter``, ``jack``, ``none`` or ``cannot tell``."""
    says: str
    chance: float | None = None
    """That the watches differ so much by chance."""


def compare(own: FlexResult, known_good: FlexResult) -> Trial:
    """``own``: with the machine's adapter; ``known_good``: with one the shop vouches for."""
    if not own.seconds or not known_good.seconds:
        return Trial("cannot tell", "One of the two was not watched.")
    if not own.count and not known_good.count:
        return Trial("none", "Neither adapter lost power while it was moved.")
    chance = by_chance(own.count, own.seconds, known_good.count, known_good.seconds)
    if known_good.count and own.count:
        return Trial(
            "jack",
            f"Power is lost with the known-good adapter too ({known_good.count} times): the jack, "
            "its joints or the board behind it.",
            chance,
        )
    if known_good.count:
        return Trial(
            "jack", "Power is lost with the known-good adapter: the jack or its fit.", chance
        )
    if chance < SURE:
        return Trial(
            "adapter",
            f"Power is lost with this adapter ({own.count} times) and not with the known-good one.",
            chance,
        )
    return Trial(
        "cannot tell",
        "The known-good adapter lost nothing, but was not moved long enough to tell: move it "
        "for as long.",
        chance,
    )


def by_chance(first: int, first_seconds: float, second: int, second_seconds: float) -> float:
    """Chance of at least so many of all losses falling to the first at equal rates."""
    share = first_seconds / (first_seconds + second_seconds)
    total = first + second
    return sum(
        comb(total, k) * share**k * (1 - share) ** (total - k) for k in range(first, total + 1)
    )
