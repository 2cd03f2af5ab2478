"""Which sets of faults explain all readings of a case, by exact enumeration.

Model: a set D of faulty components makes a check fail with probability
1 - (1 - false alarm) * product over the exercised c in D of (1 - detect), the
leaky noisy-OR of Pearl, *Probabilistic Reasoning in Intelligent Systems* (1988),
section 4.3. Faults persist over the runs of a case; one that shows only sometimes
is a detect below 1.

Repeats are no independent witnesses, for three reasons, each with one figure of
shared/components.toml; with all three at 0 this is the plain noisy-OR, and one
reading alone always is.

- ``settled``: a fault that a check has shown it will show again, and one it has
  not shown it may never show. A detect d is split into the chance d**settled that
  the check can see this very fault, and d**(1 - settled) that it then does in one
  run; false alarms alike. So repeated passes stop clearing, and a failure that
  does not come back fades.
- ``repeated``: n failures of one check in one configuration count as
  1 + (1-s) + (1-s)**2 + ... failures, at most 1/s (a tempered likelihood).
- ``kin``: passes of different checks that exercise the very same components say
  partly the same; the sharpest counts whole, each further one (1 - kin) of the one
  before. "Over half of failed drives had none of four signals" (Pinheiro, Weber,
  Barroso, FAST 2007) is far more than independent checks would allow.

The log-likelihood of a set is the empty set's, plus one term a component, plus
one term for each two (three) of its members that the same *failing* check
exercised; passes have no such terms. That makes doubles cheap.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations
from math import exp, fsum, log
from typing import Final

from livecheck.diagnosis.blame import Factor
from livecheck.diagnosis.priors import Weights
from livecheck.records import Record

Pair = tuple[int, int]
Triple = tuple[int, int, int]
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


INDEPENDENT: Final = Weights()


def witnesses(fails: int, repeated: float) -> float:
    """How many independent failures ``fails`` repeats of one failing check are worth."""
    if repeated <= 0.0:
        return float(fails)
    return (1.0 - (1.0 - repeated) ** fails) / repeated


def log_weight(factor: Factor, misses: Sequence[float], weights: Weights) -> float:
    """Log-likelihood of a factor's readings when the faults it exercised miss with ``misses``.

    Sums over which of the causes (the false alarm first) this check can see at all.
    """
    fails = witnesses(factor.fails, weights.repeated)
    causes = [(d**weights.settled, d ** (1.0 - weights.settled)) for d in _detects(factor, misses)]
    # (Chance of the causes seen so far, chance that none of them shows in one run)
    seen = [(1.0, 1.0)]
    for can, shows in causes:
        unseen = [(chance * (1.0 - can), quiet) for chance, quiet in seen] if can < 1.0 else []
        seen = [(chance * can, quiet * (1.0 - shows)) for chance, quiet in seen] + unseen
    total = 0.0
    for chance, quiet in seen:
        if factor.fails and quiet >= 1.0:
            continue
        total += chance * (1.0 - quiet) ** fails * quiet**factor.passes
    return log(total)


def _detects(factor: Factor, misses: Sequence[float]) -> list[float]:
    return [factor.false_alarm, *(1.0 - miss for miss in misses)]


def clearing(logs: Iterable[float], kin: float) -> float:
    """Log of how unlikely a component's passes are with it at fault; ``logs``: one a check."""
    total, share = 0.0, 1.0
    for value in sorted(logs):
        total += share * value
        share *= 1.0 - kin
    return total


class Likelihood:
    """Log-likelihoods of fault sets, in terms of their members."""

    def __init__(self, factors: Sequence[Factor], count: int, weights: Weights) -> None:
        self.empty = 0.0
        self.single = [0.0] * count
        self.pairs: dict[Pair, float] = {}
        self.triples: dict[Triple, float] = {}
        self._failing = [factor for factor in factors if factor.fails]
        self._weights = weights
        self._kin: list[dict[tuple[int, ...], list[float]]] = [{} for _ in range(count)]
        for factor in factors:
            if factor.fails:
                self._add_failures(factor)
            else:
                self._add_passes(factor)
        for number, families in enumerate(self._kin):
            for logs in families.values():
                self.single[number] += clearing(logs, weights.kin)

    def _add_passes(self, factor: Factor) -> None:
        base = log_weight(factor, (), self._weights)
        self.empty += base
        for number, miss in zip(factor.members, factor.misses, strict=True):
            gain = log_weight(factor, (miss,), self._weights) - base
            self._kin[number].setdefault(factor.members, []).append(gain)

    def _add_failures(self, factor: Factor) -> None:
        base = log_weight(factor, (), self._weights)
        self.empty += base
        singles = [log_weight(factor, (miss,), self._weights) - base for miss in factor.misses]
        for number, gain in zip(factor.members, singles, strict=True):
            self.single[number] += gain
        m = factor.misses
        for i, j in combinations(range(len(factor.members)), 2):
            both = log_weight(factor, (m[i], m[j]), self._weights)
            pair = (factor.members[i], factor.members[j])
            self.pairs[pair] = self.pairs.get(pair, 0.0) + both - base - singles[i] - singles[j]

    def add_triples(self) -> None:
        """Fill ``triples``; needed only when three faults are asked for."""
        for factor in self._failing:
            base = log_weight(factor, (), self._weights)
            m = factor.misses
            gains = [log_weight(factor, (miss,), self._weights) - base for miss in m]
            for i, j, k in combinations(range(len(factor.members)), 3):
                whole = log_weight(factor, (m[i], m[j], m[k]), self._weights) - base
                for a, b in ((i, j), (i, k), (j, k)):
                    two = log_weight(factor, (m[a], m[b]), self._weights) - base
                    whole -= two - gains[a] - gains[b]
                whole -= gains[i] + gains[j] + gains[k]
                triple = (factor.members[i], factor.members[j], factor.members[k])
                self.triples[triple] = self.triples.get(triple, 0.0) + whole


def posterior(
    factors: Sequence[Factor],
    weights: Sequence[float],
    by_size: Sequence[float],
    trust: Weights = INDEPENDENT,
) -> Posterior:
    """The posterior over fault sets of up to ``len(by_size) - 1`` members.

    ``weights``: prior weight of each component; only ratios count. ``by_size``:
    prior probability of 0, 1, 2 … faults. ``trust``: how far readings repeat each other.
    """
    likelihood = Likelihood(factors, len(weights), trust)
    if len(by_size) > 3:
        likelihood.add_triples()
    # A size that so few components cannot reach has no sets; its share goes to the others.
    totals = _elementary(weights, len(by_size) - 1)
    start = likelihood.empty
    logs = [
        start + (log(size / total) if size > 0 and total > 0 else float("-inf"))
        for size, total in zip(by_size, totals, strict=True)
    ]
    own = zip(weights, likelihood.single, strict=True)
    terms = [log(weight) + gain if weight > 0 else float("-inf") for weight, gain in own]
    return _summed(logs, terms, likelihood)


def _elementary(weights: Sequence[float], order: int) -> list[float]:
    """Elementary symmetric sums of the weights: what all sets of a size weigh together."""
    sums = [1.0] + [0.0] * order
    for weight in weights:
        for size in range(order, 0, -1):
            sums[size] += weight * sums[size - 1]
    return sums


def _summed(logs: Sequence[float], terms: Sequence[float], likelihood: Likelihood) -> Posterior:
    count = len(terms)
    sets: list[tuple[float, tuple[int, ...]]] = [(logs[0], ())]
    if len(logs) > 1:
        sets.extend((logs[1] + terms[a], (a,)) for a in range(count))
    if len(logs) > 2:
        pairs = likelihood.pairs
        sets.extend(
            (logs[2] + terms[a] + terms[b] + pairs.get((a, b), 0.0), (a, b))
            for a, b in combinations(range(count), 2)
        )
    if len(logs) > 3:
        sets.extend(_triple_terms(logs[3], terms, likelihood))
    top = max(value for value, _ in sets)
    return _normalised(sets, top, count, len(logs))


def _triple_terms(
    start: float, terms: Sequence[float], likelihood: Likelihood
) -> list[tuple[float, tuple[int, ...]]]:
    pairs, triples = likelihood.pairs, likelihood.triples
    found: list[tuple[float, tuple[int, ...]]] = []
    for a, b in combinations(range(len(terms)), 2):
        two = start + terms[a] + terms[b] + pairs.get((a, b), 0.0)
        for c in range(b + 1, len(terms)):
            value = two + terms[c] + pairs.get((a, c), 0.0) + pairs.get((b, c), 0.0)
            found.append((value + triples.get((a, b, c), 0.0), (a, b, c)))
    return found


def _normalised(
    sets: Sequence[tuple[float, tuple[int, ...]]], top: float, count: int, sizes: int
) -> Posterior:
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
    kept.sort(key=lambda item: (-item[1], item[0]))
    return Posterior(
        none=by_size[0] / total,
        marginals=tuple(mass / total for mass in marginals),
        sets=tuple((members, mass / total) for members, mass in kept),
        sizes=tuple(mass / total for mass in by_size),
        evidence=top + log(total),
    )
