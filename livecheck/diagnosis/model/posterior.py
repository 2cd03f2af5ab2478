"""Which sets of faults explain all readings of a case, by exact enumeration.

Priors by size of the set and weight of its members (``priors``), likelihoods by
``likelihood``; every set up to the asked size is weighed.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import exp, fsum, log
from operator import itemgetter

from livecheck.diagnosis.factors import Factor
from livecheck.diagnosis.model.fault_modes import ONE_WAY, Ways
from livecheck.diagnosis.model.likelihood import INDEPENDENT, Likelihood
from livecheck.diagnosis.model.priors import CorrelationParameters
from livecheck.records import Record

_KEPT = 1e-9
"""Sets this much less likely than the likeliest are left out of ``Posterior.sets``."""


class Posterior(Record, frozen=True, kw_only=True):
    """Probabilities after all readings."""

    none: float
    marginals: tuple[float, ...]
    """Component -> probability that it is among the faults."""
    sets: tuple[tuple[tuple[int, ...], float], ...]
    """The likely fault sets with their probabilities, likeliest first."""
    sizes: tuple[float, ...]
    """Probability of 0, 1, 2 … faults."""
    evidence: float
    """Natural log of the probability of all outcomes under the model."""
    model: Likelihood
    """What the readings say of each fault; predicts the next run."""


def posterior(
    factors: Sequence[Factor],
    weights: Sequence[float],
    by_size: Sequence[float],
    correlation: CorrelationParameters = INDEPENDENT,
    ways: Ways = ONE_WAY,
) -> Posterior:
    """The posterior over fault sets of up to ``len(by_size) - 1`` members.

    ``weights``: prior weight of each component; only ratios count. ``by_size``:
    prior probability of 0, 1, 2 … faults. ``correlation``: how far readings repeat each other.
    ``ways``: how the faults of each component may differ.
    """
    likelihood = Likelihood(factors, correlation, ways)
    # A size that so few components cannot reach has no sets; its share goes to the others.
    apart = ways.apart
    whole = [0.0 if n in apart else weight for n, weight in enumerate(weights)]
    totals = _elementary(whole, len(by_size) - 1)
    start = likelihood.empty
    logs = [
        start + (log(size / total) if size > 0 and total > 0 else float("-inf"))
        for size, total in zip(by_size, totals, strict=True)
    ]
    odds = {number: log(value) for number, value in apart.items()}
    own = [log(weight) if weight > 0 else float("-inf") for weight in whole]
    sets: list[tuple[float, tuple[int, ...]]] = []
    gain = likelihood.gain
    for size, first in enumerate(logs):
        for members in combinations(range(len(weights)), size):
            came = [number for number in members if number not in odds]
            value = (first if len(came) == size else logs[len(came)]) + gain(members)
            for number in members:
                value += odds[number] if number in odds else own[number]
            sets.append((value, members))
    return _normalised(sets, len(weights), len(by_size), likelihood)


def _elementary(weights: Sequence[float], order: int) -> list[float]:
    """Elementary symmetric sums of the weights: what all sets of a size weigh together."""
    sums = [1.0] + [0.0] * order
    for weight in weights:
        for size in range(order, 0, -1):
            sums[size] += weight * sums[size - 1]
    return sums


def _normalised(
    sets: Sequence[tuple[float, tuple[int, ...]]], count: int, sizes: int, model: Likelihood
) -> Posterior:
    top, _ = max(sets)
    marginals = [0.0] * count
    by_size = [0.0] * sizes
    kept: list[tuple[tuple[int, ...], float]] = []
    for value, members in sets:
        mass = exp(value - top)
        by_size[len(members)] += mass
        for number in members:
            marginals[number] += mass
        if mass > _KEPT:
            kept.append((members, mass))
    total = fsum(by_size)
    # They stand in order of size and members, and sorting keeps that among the equally likely.
    kept.sort(key=itemgetter(1), reverse=True)
    return Posterior(
        none=by_size[0] / total,
        marginals=tuple(mass / total for mass in marginals),
        sets=tuple((members, mass / total) for members, mass in kept),
        sizes=tuple(mass / total for mass in by_size),
        evidence=top + log(total),
        model=model,
    )
