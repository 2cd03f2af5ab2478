"""Which measurement tells most, and how many clean runs are enough.

The choice is that of the General Diagnostic Engine (de Kleer & Williams,
"Diagnosing Multiple Faults", Artificial Intelligence 32, 1987): measure where
the expected entropy of what remains is least. A candidate that predicts nothing
for a point may give any value there.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Hashable, Iterable, Mapping
from math import ceil, log, log2
from typing import TypeVar

P = TypeVar("P", bound=Hashable)

Prediction = tuple[float, Hashable | None]
"""Probability of a candidate and the value it predicts; None: it predicts none."""


def entropy(weights: Iterable[float]) -> float:
    """Bits of uncertainty in weights, which need not sum to 1. Nothing at all is 0 bit."""
    positive = [weight for weight in weights if weight > 0]
    total = sum(positive)
    return -sum(weight / total * log2(weight / total) for weight in positive)


def expected_entropy(predictions: Collection[Prediction], *, spread: bool = True) -> float:
    """Bits expected to remain after a measurement.

    ``spread``: candidates that predict nothing give each predicted value with the
    same chance; else "no value predicted" counts as an outcome of its own.
    """
    outcomes: dict[Hashable, list[float]] = defaultdict(list)
    silent = [weight for weight, value in predictions if value is None]
    for weight, value in predictions:
        if value is not None:
            outcomes[value].append(weight)
    if spread and outcomes:
        share = 1 / len(outcomes)
        for weights in outcomes.values():
            weights.extend(weight * share for weight in silent)
    elif silent:
        outcomes[None] = silent
    total = sum(weight for weight, _ in predictions)
    return sum(sum(weights) / total * entropy(weights) for weights in outcomes.values())


def best(points: Mapping[P, Collection[Prediction]]) -> P:
    """The point to measure next; the first of equals. Raises ValueError without points."""
    return min(points, key=lambda point: expected_entropy(points[point]))


def odds_after_passes(prior_odds: float, shows: float, passes: int) -> float:
    """Odds of suspect against place after clean runs of a known-good part in that place.

    ``shows``: chance that a fault of the place shows in one run, 0 < shows < 1. A
    place at fault would have stayed quiet all the time with (1 - shows)^passes.
    """
    odds: float = prior_odds / (1 - shows) ** passes
    return odds


def passes_to_reach(probability: float, shows: float, prior_odds: float = 1.0) -> int:
    """Clean runs needed until the suspect holds ``probability`` against the place."""
    needed = log(probability / (1 - probability) / prior_odds) / -log(1 - shows)
    # Rounding guards against 4.000000001 asking for a fifth run.
    return max(0, ceil(round(needed, 9)))


def hidden_rate(clean_runs: int, confidence: float = 0.95) -> float:
    """Highest rate per run a fault may have and still stay unseen in ``clean_runs``.

    The exact one-sided binomial bound for no failure: 1 - (1 - confidence)^(1/n).
    Raises ZeroDivisionError for 0 runs, which bound nothing.
    """
    bound: float = 1 - (1 - confidence) ** (1 / clean_runs)
    return bound
