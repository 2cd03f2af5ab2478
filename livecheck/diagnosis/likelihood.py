"""How well a set of faults explains the readings: the noisy-OR, and what repeats in it.

Model: a set D of faulty components makes a check fail with probability
1 - (1 - false alarm) * product over the exercised c in D of (1 - detect), the
leaky noisy-OR of Pearl, *Probabilistic Reasoning in Intelligent Systems* (1988),
section 4.3. Faults persist over the runs of a case; one that shows only sometimes
is a detect below 1.

Repeats are no independent witnesses. ``Weights`` holds figures of
shared/components.toml; with all at 0 this is the plain noisy-OR, and one reading
of a check by itself always is.

- ``settled``: what a check has shown of a fault it will show again, and what it has
  not shown it may never show. A detect d is split into the chance d**settled that
  the check can see this very fault, in whatever run and place, and d**(1 - settled)
  that it then shows in one run; false alarms alike (``alarms``), for each set of
  components. So repeated passes stop clearing, and a failure that a swap cures clears what stayed.
- ``moody``: share of faults that come and go; they show less often than steady ones.
- ``repeated``: n failures of one check with the same components count as
  1 + (1-s) + (1-s)**2 + ... failures, at most 1/s (a tempered likelihood).
- ``kin``: passes of different checks say partly the same of a component; the sharpest
  counts whole, each further one (1 - kin) of the one before. "Over half of failed
  drives had none of four signals" (Pinheiro, Weber, Barroso, FAST 2007) is far more
  than independent checks would allow.
- ``doubt``: every log-likelihood ratio is shortened by this share, because no table fits
  every machine: the power posterior, for models known to be wrong (Grünwald, *The Safe
  Bayesian*, ALT 2012).

The log-likelihood of a set is the empty set's, plus one term a component, plus one
for each two (three) of its members that the same *failing* check exercised: with
no failure the sum over what each fault shows is a product. That makes doubles cheap.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations, product
from math import exp, log
from typing import Final

from livecheck.diagnosis.blame import Factor
from livecheck.diagnosis.priors import Weights

Pair = tuple[int, int]
Triple = tuple[int, int, int]
State = tuple[float, float]
"""(Chance that a fault is so, chance that a check then shows it in one run)."""
MOODY_SHOWS: Final = 0.4
"""Assumed: how often a fault that comes and goes shows, against a steady one."""
INDEPENDENT: Final = Weights()


def states(detect: float, weights: Weights) -> tuple[State, ...]:
    """How a fault may show in a check; the chances of showing average to ``detect``."""
    sees = detect**weights.settled
    mean = detect ** (1.0 - weights.settled)
    found: list[State] = []
    if weights.moody > 0.0:
        steady = min(0.98, mean / (1.0 - weights.moody * (1.0 - MOODY_SHOWS)))
        steady = max(steady, mean)
        moody = (mean - (1.0 - weights.moody) * steady) / weights.moody
        found = [(sees * (1.0 - weights.moody), steady), (sees * weights.moody, moody)]
    else:
        found = [(sees, mean)]
    return (*found, (1.0 - sees, 0.0)) if sees < 1.0 else tuple(found)


def witnesses(fails: int, repeated: float) -> float:
    """How many independent failures ``fails`` repeats of one failing check are worth."""
    if repeated <= 0.0:
        return float(fails)
    return (1.0 - (1.0 - repeated) ** fails) / repeated


def clearing(logs: Iterable[float], kin: float) -> float:
    """Log of how unlikely a component's passes are with it at fault; ``logs``: one a check."""
    total, share = 0.0, 1.0
    for value in sorted(logs):
        total += share * value
        share *= 1.0 - kin
    return total


class CheckReadings:
    """All readings of one check, and what they make of faults in the components it exercised."""

    def __init__(self, factors: Sequence[Factor], weights: Weights) -> None:
        self.factors = tuple(factors)
        self._counts = 1.0 - weights.doubt
        self.states: dict[int, tuple[State, ...]] = {}
        self.where: dict[int, list[int]] = {}
        self._fails = [witnesses(factor.fails, weights.repeated) for factor in factors]
        self._alarm = [_alarm(factor.false_alarm, weights.alarms) for factor in factors]
        for index, factor in enumerate(factors):
            for number, miss in zip(factor.members, factor.misses, strict=True):
                self.where.setdefault(number, []).append(index)
                self.states[number] = states(1.0 - miss, weights)
        self._base = [self._chance(index, 1.0) for index in range(len(self.factors))]
        self.empty = sum(log(chance) for chance in self._base)

    def failed_with(self) -> set[int]:
        """Components that a failure of this check exercised."""
        return {number for factor in self.factors if factor.fails for number in factor.members}

    def gain(self, members: Sequence[int]) -> float:
        """Log-likelihood with these faults, against none."""
        involved = sorted({index for number in members for index in self.where.get(number, ())})
        total = 0.0
        for states_now in product(*(self.states[number] for number in members)):
            total += self._of_states(members, states_now, involved)
        return self._counts * log(total)

    def shows(self, number: int) -> float:
        """Chance that the next run shows this fault, after all that the check has said of it."""
        whole = 0.0
        shown = 0.0
        for state in self.states[number]:
            mass = self._of_states((number,), (state,), self.where[number])
            whole += mass
            shown += mass * state[1]
        return shown / whole

    def _of_states(
        self, members: Sequence[int], now: Sequence[State], involved: Sequence[int]
    ) -> float:
        mass = 1.0
        for chance, _ in now:
            mass *= chance
        for index in involved:
            quiet = 1.0
            for number, (_, shows) in zip(members, now, strict=True):
                if number in self.factors[index].members:
                    quiet *= 1.0 - shows
            mass *= self._chance(index, quiet) / self._base[index]
        return mass

    def _chance(self, index: int, quiet: float) -> float:
        """Probability of a factor's readings when no fault shows with chance ``quiet``."""
        passes = self.factors[index].passes
        fails = self._fails[index]
        sees, shows = self._alarm[index]
        calm = quiet * (1.0 - shows)
        value: float = sees * calm**passes * (1.0 - calm) ** fails
        if sees < 1.0 and (fails == 0.0 or quiet < 1.0):
            value += (1.0 - sees) * quiet**passes * (1.0 - quiet) ** fails
        return value


def _alarm(chance: float, settled: float) -> State:
    return chance**settled, chance ** (1.0 - settled)


def by_check(factors: Sequence[Factor], weights: Weights) -> dict[str, CheckReadings]:
    """The readings of each check. A factor that names no check stands for itself."""
    groups: dict[str, list[Factor]] = {}
    for number, factor in enumerate(factors):
        groups.setdefault(factor.check or f"#{number}", []).append(factor)
    return {name: CheckReadings(group, weights) for name, group in groups.items()}


class Likelihood:
    """Log-likelihoods of fault sets, in terms of their members."""

    def __init__(self, factors: Sequence[Factor], count: int, weights: Weights) -> None:
        self.checks = by_check(factors, weights)
        self.empty = sum(check.empty for check in self.checks.values())
        self.single = [0.0] * count
        self.pairs: dict[Pair, float] = {}
        self.triples: dict[Triple, float] = {}
        passed: list[list[float]] = [[] for _ in range(count)]
        for check in self.checks.values():
            failed = check.failed_with()
            for number in check.where:
                gain = check.gain((number,))
                if number in failed:
                    self.single[number] += gain
                else:
                    passed[number].append(gain)
            self._add_pairs(check)
        for number, logs in enumerate(passed):
            self.single[number] += clearing(logs, weights.kin)

    def _add_pairs(self, check: CheckReadings) -> None:
        for pair in _together(check, 2):
            alone = check.gain(pair[:1]) + check.gain(pair[1:])
            known = self.pairs.get((pair[0], pair[1]), 0.0)
            self.pairs[pair[0], pair[1]] = known + check.gain(pair) - alone

    def add_triples(self) -> None:
        """Fill ``triples``; needed only when three faults are asked for."""
        for check in self.checks.values():
            gains: dict[tuple[int, ...], float] = {}

            def gain(
                members: tuple[int, ...],
                check: CheckReadings = check,
                gains: dict[tuple[int, ...], float] = gains,
            ) -> float:
                if members not in gains:
                    gains[members] = check.gain(members)
                return gains[members]

            for a, b, c in _together(check, 3):
                # Inclusion and exclusion: what singles and pairs do not say already.
                value = gain((a, b, c)) - gain((a, b)) - gain((a, c)) - gain((b, c))
                value += gain((a,)) + gain((b,)) + gain((c,))
                self.triples[a, b, c] = self.triples.get((a, b, c), 0.0) + value

    def likelihood(self, members: Sequence[int]) -> float:
        """Relative likelihood of one set, for tests; 1 for the empty set."""
        value = sum(self.single[number] for number in members)
        value += sum(self.pairs.get((a, b), 0.0) for a, b in combinations(members, 2))
        return exp(value)


def _together(check: CheckReadings, size: int) -> set[tuple[int, ...]]:
    """Members of one failing factor, ``size`` at a time; pairs within reach of each other."""
    return {
        members
        for factor in check.factors
        if factor.fails
        for members in combinations(factor.members, size)
    }
