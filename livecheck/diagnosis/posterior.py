"""Which sets of faults explain all readings of a case, by exact enumeration.

Model: a set D of faulty components makes a check fail with probability
1 - (1 - false alarm) * product over the exercised c in D of (1 - detect), the
leaky noisy-OR of Pearl, *Probabilistic Reasoning in Intelligent Systems* (1988),
section 4.3. Faults persist over the runs of a case; one that shows only sometimes
is a detect below 1.

Repeats. Some false alarms come back however often one asks (a limit that does
not fit this machine), so failures of the same check that exercised the same
components are no independent witnesses. With s the share of false alarms that
repeat, n of them weigh as 1 + (1-s) + (1-s)**2 + ... failures, n terms: one keeps
the noisy-OR's weight, and all repeats together weigh at most 1/s. Such a tempered
likelihood is the usual remedy where dependence is known and not modelled. Passes
count whole: a passing check is never a reason to believe in a fault it looked for.

The log-likelihood of a set is the empty set's, plus one term a component, plus
one term for each two (three) of its members that the same *failing* check
exercised; passes have no such terms. That makes doubles cheap.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations
from math import exp, fsum, log

from livecheck.diagnosis.blame import Factor
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


def fail_log(factor: Factor, survived: float, repeated: float) -> float:
    """Log of the weight of a factor's failures; ``survived``: product of 1 - detect of D."""
    chance = 1.0 - (1.0 - factor.false_alarm) * survived
    return witnesses(factor.fails, repeated) * log(chance)


def witnesses(fails: int, repeated: float) -> float:
    """How many independent failures ``fails`` repeats of one failing check are worth."""
    if repeated <= 0.0:
        return float(fails)
    return (1.0 - (1.0 - repeated) ** fails) / repeated


def clearing(logs: Iterable[float], kin: float) -> float:
    """Log of how unlikely a component's passes are with it at fault; ``logs``: one a check.

    The check that clears it most counts whole, each further one ``1 - kin`` of the one before.
    """
    total, share = 0.0, 1.0
    for value in sorted(logs):
        total += share * value
        share *= 1.0 - kin
    return total


class Likelihood:
    """Log-likelihoods of fault sets, in terms of their members."""

    def __init__(
        self, factors: Sequence[Factor], count: int, repeated: float, kin: float = 0.0
    ) -> None:
        self.empty = 0.0
        self.single = [0.0] * count
        self.pairs: dict[Pair, float] = {}
        self.triples: dict[Triple, float] = {}
        self._failing = [factor for factor in factors if factor.fails]
        self._repeated = repeated
        self._cleared: list[dict[str, float]] = [{} for _ in range(count)]
        for factor in factors:
            self._add(factor)
        for number, by_check in enumerate(self._cleared):
            self.single[number] += clearing(by_check.values(), kin)

    def _add(self, factor: Factor) -> None:
        if factor.passes:
            self.empty += factor.passes * log(1.0 - factor.false_alarm)
            for number, miss in zip(factor.members, factor.misses, strict=True):
                by_check = self._cleared[number]
                known = by_check.get(factor.check, 0.0)
                by_check[factor.check] = known + factor.passes * log(miss)
        if factor.fails:
            self._add_failures(factor)

    def _add_failures(self, factor: Factor) -> None:
        base = fail_log(factor, 1.0, self._repeated)
        self.empty += base
        singles = [fail_log(factor, miss, self._repeated) - base for miss in factor.misses]
        for number, gain in zip(factor.members, singles, strict=True):
            self.single[number] += gain
        for i, j in combinations(range(len(factor.members)), 2):
            both = fail_log(factor, factor.misses[i] * factor.misses[j], self._repeated)
            pair = (factor.members[i], factor.members[j])
            self.pairs[pair] = self.pairs.get(pair, 0.0) + both - base - singles[i] - singles[j]

    def add_triples(self) -> None:
        """Fill ``triples``; needed only when three faults are asked for."""
        for factor in self._failing:
            base = fail_log(factor, 1.0, self._repeated)
            gains = [fail_log(factor, miss, self._repeated) - base for miss in factor.misses]
            for i, j, k in combinations(range(len(factor.members)), 3):
                m = factor.misses
                whole = fail_log(factor, m[i] * m[j] * m[k], self._repeated) - base
                for a, b in ((i, j), (i, k), (j, k)):
                    two = fail_log(factor, m[a] * m[b], self._repeated) - base
                    whole -= two - gains[a] - gains[b]
                whole -= gains[i] + gains[j] + gains[k]
                triple = (factor.members[i], factor.members[j], factor.members[k])
                self.triples[triple] = self.triples.get(triple, 0.0) + whole


def posterior(
    factors: Sequence[Factor],
    weights: Sequence[float],
    by_size: Sequence[float],
    *,
    repeated: float = 0.5,
    kin: float = 0.0,
) -> Posterior:
    """The posterior over fault sets of up to ``len(by_size) - 1`` members.

    ``weights``: prior weight of each component; only ratios count. ``by_size``:
    prior probability of 0, 1, 2 … faults. ``repeated``: share of false alarms
    that repeat; ``kin``: how far passes of different checks say the same (0 and 0: every
    reading is independent, the plain noisy-OR).
    """
    likelihood = Likelihood(factors, len(weights), repeated, kin)
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
