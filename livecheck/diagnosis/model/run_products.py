"""Sums over the runs of a case in each of which the faults of a set act or rest.

A product holds, for one way the false alarms that may stay do so, the likelihood ratio of every
run in which the faults act. Run products of fault sets that share no failure multiply.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, fsum, inf, log, prod
from operator import add, mul
from typing import Final, NamedTuple

from livecheck.diagnosis.model.evidence import ACTIVITIES, ReadingGroup
from livecheck.diagnosis.model.false_alarms import log_sum

MIN_PRODUCT: Final = 1e-250
MAX_PRODUCT: Final = 1e250
"""Beyond these a number on its way may have been too small or too large."""
_FEW: Final = 4
_LARGE: Final = 1e3
_PLAIN_RUNS: Final = 300
_PLAIN_WEIGHT: Final = -500.0

RunProduct = tuple[float, list[float]]
"""(Log weight, likelihood ratio of each run)."""


class RunProducts(NamedTuple):
    """All run products of a fault set."""

    products: list[RunProduct]
    moved: frozenset[int]
    """The runs in which they differ; none: there is one."""

    def times(self, other: RunProducts) -> RunProducts:
        """Those of both sets together, when they share no failure."""
        return RunProducts(
            [
                (one + two, list(map(mul, left, right)))
                for one, left in self.products
                for two, right in other.products
            ],
            self.moved | other.moved,
        )


def run_products(found: list[RunProduct]) -> RunProducts:
    """Run products, and where they differ; those that differ nowhere are one."""
    columns = enumerate(zip(*(ratios for _, ratios in found), strict=True))
    moved = frozenset(run for run, column in columns if len(set(column)) > 1)
    if not moved:
        found = [(log_sum([weight for weight, _ in found]), found[0][1])]
    return RunProducts(found, moved)


class Runs:
    """The different runs of a case."""

    def __init__(self, counts: Sequence[int]) -> None:
        """``counts``: how many runs were just so."""
        self.counts = counts
        whole = sum(counts)
        # Where most runs are like others, a logarithm for each kind of run is less to do.
        self._few = whole <= min(_PLAIN_RUNS, 2 * len(counts))
        self._each = [run for run, count in enumerate(counts) for _ in range(count)]
        # 1 + acts * (ratio - 1) is acts * (ratio + offset): less to do for each run.
        self._offsets = [(1.0 - acts) / acts for acts in ACTIVITIES]
        self._columns = [[offset] * whole for offset in self._offsets]
        self._scales = [exp(whole * log(acts)) for acts in ACTIVITIES]
        self.nothing = RunProducts([(0.0, [1.0] * len(counts))], frozenset())
        """Of no fault."""

    def logs(self, known: RunProducts) -> list[float]:
        """For each of ``ACTIVITIES`` the log-likelihood."""
        return [
            log_sum([weight + self._log(ratios, acts) for weight, ratios in known.products])
            for acts in ACTIVITIES
        ]

    def _log(self, ratios: Sequence[float], acts: float) -> float:
        """Log of the product over all runs of acting or resting in each."""
        total, value = 0.0, 1.0
        for ratio, count in zip(ratios, self.counts, strict=True):
            if ratio == 1.0:
                continue
            term = 1.0 + acts * (ratio - 1.0)
            if count > _FEW or term > _LARGE:
                total += count * log(term)
                continue
            # One logarithm for many runs, as long as their product fits a number.
            value *= term**count
            if not MIN_PRODUCT < value < MAX_PRODUCT:
                total += log(value)
                value = 1.0
        return total + log(value)

    def plain(self, first: RunProducts, second: RunProducts) -> float:
        """Sum over ``ACTIVITIES`` of the likelihood of two sets together, without logarithms.

        Outside ``MIN_PRODUCT`` to ``MAX_PRODUCT`` it does not count, and ``logs`` must be asked.
        Within nothing is lost unseen: no term is below 1/3, so that of ``_PLAIN_RUNS`` runs no
        product is too small for a number; one that is too large is infinite; and a product of
        more than ``_PLAIN_WEIGHT`` that vanishes is as nothing beside ``MIN_PRODUCT``.
        """
        if not self._few:
            return inf
        weight, left = first.products[0]
        other, right = second.products[0]
        moved = first.moved | second.moved
        if moved:
            left = [left[run] for run in self._each if run not in moved]
            right = [right[run] for run in self._each if run not in moved]
        elif len(self._each) > len(left):
            left, right = ([side[run] for run in self._each] for side in (left, right))
        ratios = list(map(mul, left, right))
        products = [
            prod(map(add, ratios, column), start=scale)
            for column, scale in zip(self._columns, self._scales, strict=True)
        ]
        if moved:
            # Runs in which all run products are alike were multiplied once.
            return fsum(map(mul, products, self._moved(first, second, moved)))
        return fsum(products) * exp(weight + other) if weight + other > _PLAIN_WEIGHT else inf

    def _moved(
        self, first: RunProducts, second: RunProducts, moved: frozenset[int]
    ) -> tuple[float, ...]:
        """For each of ``ACTIVITIES`` the sum of all over the runs in which they differ."""
        runs = [run for run in self._each if run in moved]
        seldom, often, mostly = self._offsets
        sums = (0.0, 0.0, 0.0)
        for one, left in first.products:
            for other, right in second.products:
                if one + other < _PLAIN_WEIGHT:
                    return (inf, inf, inf)
                a = b = c = exp(one + other)
                for run in runs:
                    ratio = left[run] * right[run]
                    a *= ratio + seldom
                    b *= ratio + often
                    c *= ratio + mostly
                sums = (sums[0] + a, sums[1] + b, sums[2] + c)
        return sums


def each_run(groups: Sequence[ReadingGroup]) -> tuple[list[list[ReadingGroup]], list[int]]:
    """Each different run's readings, and how many runs were just so."""
    by_run: dict[int, list[ReadingGroup]] = {}
    for group in groups:
        by_run.setdefault(group.run, []).append(group)
    found: dict[tuple[object, ...], list[ReadingGroup]] = {}
    counts: dict[tuple[object, ...], int] = {}
    for run, some in by_run.items():
        # What a fault shows depends on what it has shown before: such runs stand alone.
        alone = run if any(group.fails for group in some) else None
        key = (
            alone,
            *(
                (g.test_point, tuple(g.detects.items()), g.fails, g.passes, g.covered, g.chance)
                for g in some
            ),
        )
        found.setdefault(key, some)
        counts[key] = counts.get(key, 0) + 1
    return list(found.values()), [counts[key] for key in found]
