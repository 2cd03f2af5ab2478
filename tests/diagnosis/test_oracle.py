"""The posterior against an independent Bayesian-network library and published odds.

The oracle is pyagrum: exact inference in a network built from the model's
definition, with the library's own noisy-OR nodes (Pearl 1988).
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import combinations
from math import prod

import pyagrum as gum
import pytest

from livecheck.diagnosis.factors import Factor
from livecheck.diagnosis.model.posterior import posterior

MODELS = 200


class Model:
    """A random case: components, prior sizes, and checks with outcomes."""

    def __init__(self, seed: int) -> None:
        dice = random.Random(seed)
        count = dice.randint(1, 7)
        self.weights = [10 ** dice.uniform(-2, 1) for _ in range(count)]
        most = min(count, dice.randint(1, 3))
        shares = [dice.uniform(0.02, 1.0) for _ in range(most + 1)]
        self.by_size = [share / sum(shares) for share in shares]
        self.factors = [self._factor(dice, count) for _ in range(dice.randint(0, 6))]

    @staticmethod
    def _factor(dice: random.Random, count: int) -> Factor:
        members = tuple(sorted(dice.sample(range(count), dice.randint(0, count))))
        return Factor(
            members=members,
            misses=tuple(dice.uniform(0.01, 0.99) for _ in members),
            false_alarm=10 ** dice.uniform(-4, -0.3),
            fails=dice.choice([0, 0, 1, 2]),
            passes=dice.choice([0, 1, 3]),
        )


def fault_sets(model: Model) -> list[tuple[int, ...]]:
    sizes = range(len(model.by_size))
    return [s for size in sizes for s in combinations(range(len(model.weights)), size)]


def priors(model: Model) -> list[float]:
    """Prior of each fault set: its size's share, spread by the product of its weights."""
    sets = fault_sets(model)
    mass = [prod(model.weights[i] for i in members) for members in sets]
    by_size = [
        sum(m for m, s in zip(mass, sets, strict=True) if len(s) == size)
        for size in range(len(model.by_size))
    ]
    return [model.by_size[len(s)] * m / by_size[len(s)] for m, s in zip(mass, sets, strict=True)]


def network(model: Model) -> tuple[gum.BayesNet, dict[str, int]]:
    """The model as a network, and the evidence on its readings (1: failed)."""
    net = gum.BayesNet()
    sets = fault_sets(model)
    net.add(gum.LabelizedVariable("set", "which faults", max(2, len(sets))))
    net.cpt("set")[:] = priors(model) + [0.0] * (max(2, len(sets)) - len(sets))
    for number in range(len(model.weights)):
        net.add(gum.LabelizedVariable(f"c{number}", "at fault", 2))
        net.addArc("set", f"c{number}")
        for row in range(max(2, len(sets))):
            at_fault = row < len(sets) and number in sets[row]
            net.cpt(f"c{number}")[{"set": row}] = [0.0, 1.0] if at_fault else [1.0, 0.0]
    evidence: dict[str, int] = {}
    for index, factor in enumerate(model.factors):
        for turn in range(factor.passes):
            _reading(net, f"pass{index}_{turn}", factor, factor.false_alarm)
            evidence[f"pass{index}_{turn}"] = 0
        for turn in range(factor.fails):
            _reading(net, f"fail{index}_{turn}", factor, factor.false_alarm)
            evidence[f"fail{index}_{turn}"] = 1
    return net, evidence


def _reading(net: gum.BayesNet, name: str, factor: Factor, leak: float) -> None:
    net.addNoisyORNet(gum.LabelizedVariable(name, "failed", 2), leak)
    for member, miss in zip(factor.members, factor.misses, strict=True):
        net.addWeightedArc(f"c{member}", name, 1.0 - miss)


def oracle(model: Model) -> tuple[list[float], list[float]]:
    """(Probability of each component, probability of each fault set) by the library."""
    net, evidence = network(model)
    inference = gum.LazyPropagation(net)
    inference.setEvidence(evidence)
    inference.makeInference()
    marginals = [inference.posterior(f"c{n}")[1] for n in range(len(model.weights))]
    sets = [inference.posterior("set")[row] for row in range(len(fault_sets(model)))]
    return marginals, sets


@pytest.mark.parametrize("seed", range(MODELS))
def test_agrees_with_a_bayesian_network_library(seed: int) -> None:
    model = Model(seed)
    ours = posterior(model.factors, model.weights, model.by_size)
    marginals, sets = oracle(model)
    assert ours.marginals == pytest.approx(marginals, abs=1e-9)
    assert ours.none == pytest.approx(sets[0], abs=1e-9)
    found = dict(ours.sets)
    expected = dict(zip(fault_sets(model), sets, strict=True))
    for members, probability in expected.items():
        assert found.get(members, 0.0) == pytest.approx(probability, abs=1e-9)
    for size, share in enumerate(ours.sizes):
        of_size = sum(p for s, p in expected.items() if len(s) == size)
        assert share == pytest.approx(of_size, abs=1e-9)


def _swap_factors(shows: float, passes: int) -> Sequence[Factor]:
    """D1 in P1 failed once; a known-good part in P1 passed ``passes`` times."""
    quiet = 1e-12
    both = Factor(
        members=(0, 1), misses=(1 - shows, 1 - shows), false_alarm=quiet, fails=1, passes=0
    )
    place = Factor(members=(1,), misses=(1 - shows,), false_alarm=quiet, fails=0, passes=passes)
    return [both, place]


@pytest.mark.parametrize(
    ("prior", "shows", "passes", "probability"),
    [
        (5, 0.5, 1, 0.9091),
        (5, 0.5, 3, 0.9756),
        (5, 0.5, 5, 0.9938),
        (1, 0.1, 10, 0.7415),
    ],
)
def test_intermittent_swap(prior: float, shows: float, passes: int, probability: float) -> None:
    """Odds D:P = prior odds / (1-g)^n: standard theory, figures computed by hand."""
    found = posterior(_swap_factors(shows, passes), [prior, 1.0], [1e-12, 1.0])
    assert found.marginals[0] == pytest.approx(probability, abs=5e-5)
