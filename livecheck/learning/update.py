"""The update of a chance that is worth so many cases.

The table's chance m is taken as the mean of a Beta prior worth ``A`` cases, of a share among
several as that of a Dirichlet prior: A·m pseudo-counts. After N cases with n found the posterior
mean is (A·m + n) / (A + N): Gelman and others, Bayesian Data Analysis, 3rd edition, sections 2.4
and 3.4. Divided by m it is the factor on the table's figure,

    (A·m + n) / (A·m + N·m)

and N·m is what the table expected among the counted cases. Where m differs from case to case,
N·m is summed case by case. Cases may count in part.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log
from typing import Final

from livecheck.records import Record

FARTHEST: Final = 5.0
"""Assumed: no figure moves farther than by this factor, of a chance on its odds."""
RARER: Final = 3.0
"""Assumed: a table's figure is worth so many cases at least of what it holds for the rarer, so that
one odd case moves it by a third at most, and with what all have in common does not double it."""
SELDOM: Final = 1e-9
_HALVINGS: Final = 40


class Count(Record, frozen=True, kw_only=True):
    """One figure's part in the sums."""

    worth: float
    """A, in cases."""
    expected: float
    """N·m, by the table."""
    found: float
    """n."""
    cases: float
    """N."""

    @property
    def factor(self) -> float:
        """On the table's figure; 1 where no counted case could have shown it."""
        mean = self.expected / self.cases if self.cases else 0.0
        if mean <= 0.0:
            return 1.0
        return (self.worth * mean + self.found) / (self.worth * mean + self.expected)


def bounded(factor: float) -> float:
    """A factor, no farther from 1 than any may be."""
    return min(max(factor, 1.0 / FARTHEST), FARTHEST)


def moved(chance: float, factor: float) -> float:
    """A chance with its odds multiplied; it stays one."""
    odds = chance / (1.0 - chance) * factor
    return odds / (1.0 + odds)


def odds_ratio(before: float, after: float) -> float:
    """The factor that ``moved`` takes one chance to the other by."""
    return after / (1.0 - after) * (1.0 - before) / before


def worth_of(cases: float, mean: float) -> float:
    """A: the stated cases, or more where the figure is of something rare."""
    return max(cases, RARER / max(min(mean, 1.0 - mean), SELDOM))


def common_factor(weighted: Sequence[tuple[float, float]], total: float) -> float:
    """The factor on the odds of all chances that makes their weighted sum so much.

    ``weighted``: (chance, its weight).
    """
    low, high = -log(FARTHEST), log(FARTHEST)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        come_to = sum(weight * moved(chance, exp(middle)) for chance, weight in weighted)
        low, high = (middle, high) if come_to < total else (low, middle)
    return exp((low + high) / 2.0)
