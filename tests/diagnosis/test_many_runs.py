"""Likelihoods of faults that come and go over many runs, against decimal arithmetic.

The oracle is the noisy-OR of ``likelihood`` written out run by run with the standard
library's ``decimal``, whose numbers neither overflow nor underflow here.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from decimal import Decimal, localcontext
from itertools import combinations
from math import prod

import pytest

from livecheck.diagnosis.factors import Factor
from livecheck.diagnosis.model.likelihood import Likelihood
from livecheck.diagnosis.model.priors import CorrelationParameters

ACTS = ("0.2", "0.45", "0.75")
COMPONENTS = 5
INTERMITTENT = CorrelationParameters(intermittent=1.0)


def by_hand(factors: Sequence[Factor], members: Sequence[int]) -> float:
    """Log of the mean over ``ACTS`` of the product over runs of acting or resting in each."""
    with localcontext() as context:
        context.prec = 50
        context.Emin, context.Emax = -999_999, 999_999
        total = Decimal(0)
        runs = sorted({factor.run for factor in factors})
        acting = [_acting([f for f in factors if f.run == run], members) for run in runs]
        for act in map(Decimal, ACTS):
            total += prod((1 - act + act * ratio for ratio in acting), start=Decimal(1)) / 3
        return float(total.ln())


def _acting(factors: Sequence[Factor], members: Sequence[int]) -> Decimal:
    ratio = Decimal(1)
    for factor in factors:
        pairs = zip(factor.members, factor.misses, strict=True)
        quiet = prod((Decimal(miss) for n, miss in pairs if n in members), start=Decimal(1))
        alarm = Decimal(factor.false_alarm)
        ratio *= quiet**factor.passes
        ratio *= ((1 - (1 - alarm) * quiet) / alarm) ** factor.fails
    return ratio


def case(seed: int, runs: int, alarm: float, fails: Sequence[int], *, equal: bool) -> list[Factor]:
    """``runs`` runs of four checks, each at some of the components; ``equal``: all the same."""
    dice = random.Random(seed)
    looks = [tuple(sorted(dice.sample(range(COMPONENTS), size))) for size in (1, 2, 1, 2)]
    misses = [tuple(dice.uniform(0.05, 0.9) for _ in look) for look in looks]
    counts = [[(dice.choice(fails), dice.choice([0, 1, 2])) for _ in looks] for _ in range(runs)]
    return [
        Factor(
            members=look,
            misses=misses[turn],
            false_alarm=alarm,
            fails=counts[0 if equal else run][turn][0],
            passes=counts[0 if equal else run][turn][1],
            check=f"check {turn}",
            run=run,
        )
        for run in range(runs)
        for turn, look in enumerate(looks)
    ]


@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(1, 6))]
)
@pytest.mark.parametrize("equal", [True, False])
@pytest.mark.parametrize(
    ("runs", "alarm", "fails"),
    [
        (12, 0.02, [0, 0, 1]),
        (300, 0.02, [0, 0, 1]),
        (300, 0.02, [0]),
        (300, 1e-6, [1, 2, 3]),
        (700, 0.3, [0, 0, 1]),
        (900, 1e-6, [0, 4]),
    ],
)
def test_any_number_of_runs_fits(
    seed: int, equal: bool, runs: int, alarm: float, fails: list[int]
) -> None:
    factors = case(seed, runs, alarm, fails, equal=equal)
    model = Likelihood(factors, INTERMITTENT)
    sets = [s for size in (1, 2, 3) for s in combinations(range(COMPONENTS), size)]
    for members in random.Random(seed).sample(sets, 6):
        assert model.gain(members) == pytest.approx(by_hand(factors, members), rel=1e-9, abs=1e-9)
