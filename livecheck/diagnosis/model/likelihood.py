"""How well a set of faults explains the readings: the noisy-OR, and what repeats in it.

Model: a set D of faulty components makes a check fail with probability
1 - (1 - false alarm) * product over the c in D that it looks at of (1 - detect), the
leaky noisy-OR of Pearl, *Probabilistic Reasoning in Intelligent Systems* (1988),
section 4.3. Faults persist over the runs of a case.

Readings are no independent witnesses. What they share is a hidden cause, summed over
exactly, as in any Bayesian network; ``CorrelationParameters`` holds figures of shared/model.toml,
and with all at 0 this is the plain noisy-OR. A detect is the chance of showing in a run
in which the fault acts.

- ``modes`` (not a weight): a part fails in one of several ways, each seen by its own checks.
- ``hidden``: share of faults that no check sees, however often it looks. "Over half of
  failed drives had none of four signals" (Pinheiro, Weber, Barroso, FAST 2007).
- ``intermittent``: share of faults that come and go: in each run they act, for all checks, or
  rest (``intermittent``). The others act always (``permanent``), and what one check
  has shown of such a fault it will show again (``repeated_check``); what has shown of one that
  comes and goes shows mostly again when it acts (``shows_again``).
- ``symptom_group``: checks that look at the same events of a fault see it together or not at all.
- ``persistent_alarms``: share of false alarms that stay with a check where it was
  read, in every run.
- ``table_doubt``: every log-likelihood ratio is shortened by this share, because no table fits
  every machine: the power posterior, for models known to be wrong (Grünwald, *The Safe
  Bayesian*, ALT 2012).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from math import exp, log
from typing import Final

from livecheck.diagnosis.factors import Factor
from livecheck.diagnosis.model.evidence import ACTIVITIES, Members, Readings
from livecheck.diagnosis.model.false_alarms import NEVER, log_sum
from livecheck.diagnosis.model.fault_modes import ONE_WAY, FaultMode, Ways
from livecheck.diagnosis.model.intermittent import Intermittent
from livecheck.diagnosis.model.permanent import Look, Permanent
from livecheck.diagnosis.model.priors import CorrelationParameters
from livecheck.diagnosis.model.run_products import MAX_PRODUCT, MIN_PRODUCT

SELDOM: Final = 0.4
"""Assumed: so much seldomer than others what is steady comes and goes."""
INDEPENDENT: Final = CorrelationParameters()
_LARGE: Final = 500.0
"""A logarithm whose exponential still fits a number."""


class Likelihood:
    """Log-likelihoods of fault sets, against no fault."""

    def __init__(
        self,
        factors: Sequence[Factor],
        parameters: CorrelationParameters,
        ways: Ways = ONE_WAY,
    ) -> None:
        self.readings = Readings(factors, parameters, ways)
        self._counts = 1.0 - parameters.table_doubt
        self._permanent = Permanent(self.readings)
        self._intermittent = Intermittent(self.readings)
        self._shares = _shares(parameters)
        owner = self.readings.owner
        steady = (own for own in self.readings.touched if owner.get(own, own) in ways.steady)
        self._steady = frozenset(steady)
        self._gains: dict[Members, float] = {(): 0.0}
        self._nature: dict[int, list[tuple[FaultMode | int, list[float]]]] = {}

    @property
    def empty(self) -> float:
        """Log-likelihood of all readings with nothing at fault."""
        return sum(alarm.log_base for alarm in self.readings.false_alarms.values())

    def gain(self, members: Members) -> float:
        """Log-likelihood with these faults, against none; those nothing looked at add 0."""
        touched = self.readings.touched
        if not touched.issuperset(members):
            members = tuple(filter(touched.__contains__, members))
        known = self._gains.get(members)
        if known is None:
            known = self._gains[members] = self._counts * self._told(members)
        return known

    def _told(self, members: Members) -> float:
        """The same before doubt, summed over the fault modes its members can have (``modes``)."""
        fault_modes = self.readings.fault_modes
        if fault_modes.keys().isdisjoint(members):
            return self._of_modes(members)
        rows = []
        plain = ([_mode(mode) for mode in fault_modes.get(number, (number,))] for number in members)
        for some in product(*plain):
            share = sum(log(part) for _, part in some)
            rows.append(share + self._of_modes(tuple(sorted(own for own, _ in some))))
        return log_sum(rows)

    def _of_modes(self, members: Members) -> float:
        """Summed over the natures of the faults."""
        hidden, permanent, intermittent = self._shares_of(members)
        rest, coupled = self.readings.split_coupled(members)
        log_permanent = self._permanent.gain(rest) + self._permanent.gain(coupled)
        if log_permanent < _LARGE:
            total = hidden + permanent * exp(log_permanent)
            if intermittent > 0.0:
                total += intermittent * self._intermittent.plain(rest, coupled)
            if MIN_PRODUCT < total < MAX_PRODUCT:
                return log(total)
        return log_sum(self._natures(members))

    def _natures(self, members: Members) -> list[float]:
        """Log of each nature's share times its likelihood: hidden, permanent, ``ACTIVITIES``."""
        hidden, permanent, intermittent = self._shares_of(members)
        logs = [log(hidden) if hidden > 0.0 else NEVER]
        logs.append(log(permanent) + self._permanent.gain(members) if permanent > 0.0 else NEVER)
        if intermittent > 0.0:
            logs += [log(intermittent) + gain for gain in self._intermittent.gains(members)]
        return logs

    def _shares_of(self, members: Members) -> tuple[float, float, float]:
        """Shares of the natures of these faults."""
        hidden, permanent, intermittent = self._shares
        if not self._steady.issuperset(members):
            return self._shares
        rests = intermittent * SELDOM
        return hidden, permanent + (intermittent - rests) * len(ACTIVITIES), rests

    def nature(self, number: int) -> list[tuple[FaultMode | int, list[float]]]:
        """By mode, the chance that a fault is hidden, permanent, or acts as ``ACTIVITIES`` say."""
        if number not in self._nature:
            rows = []
            for mode in self.readings.fault_modes.get(number, (number,)):
                own, share = _mode(mode)
                known = own in self.readings.touched
                logs = [log(share) + v for v in self._natures((own,) if known else ())]
                rows.append((mode, logs))
            whole = log_sum([value for _, logs in rows for value in logs])
            self._nature[number] = [(f, [exp(v - whole) for v in logs]) for f, logs in rows]
        return self._nature[number]

    def miss_probability(self, number: int, looks: Sequence[Look], repeats: int = 1) -> float:
        """Chance that ``repeats`` further runs of these checks do not show this fault."""
        total = 0.0
        for mode, (hidden, permanent, *intermittent) in self.nature(number):
            own, _ = _mode(mode)
            if _gone(mode):
                total += hidden + permanent + sum(intermittent)
                continue
            seen = looks
            if isinstance(mode, FaultMode):
                beside = self.readings.beside
                seen = [(c, g, mode.detect(g, v, beside.get(c))) for c, g, v in looks]
            total += hidden
            if permanent > 0.0:
                total += permanent * self._permanent.miss_probability(own, seen, repeats)
            for share, acts in zip(intermittent, ACTIVITIES[: len(intermittent)], strict=True):
                total += share * self._intermittent.miss_probability(own, seen, acts, repeats)
        return min(1.0, total)

    def could(self, check: str, at: str) -> frozenset[int]:
        """Components that the failures of a check at one test point could come from."""
        groups = (g for g in self.readings.groups if g.test_point == (check, at) and g.fails)
        owner = self.readings.owner
        return frozenset(owner.get(n, n) for group in groups for n in group.detects)

    def again(self, check: str, at: str) -> float | None:
        """Chance that a check fails once more with nothing at fault; None: it never failed."""
        groups = [g for g in self.readings.groups if g.test_point == (check, at)]
        if not any(group.fails for group in groups):
            return None
        return self.readings.false_alarms[groups[-1].source].again(groups[-1])

    def gone(self, number: int) -> float:
        """Of a fault's probability the share in which it was there once, and is no more."""
        return sum(sum(shares) for mode, shares in self.nature(number) if _gone(mode))


def _gone(mode: FaultMode | int) -> bool:
    return isinstance(mode, FaultMode) and mode.gone


def _mode(mode: FaultMode | int) -> tuple[int, float]:
    """Number and share of a mode; a component without fault modes is its own."""
    return (mode.number, mode.share) if isinstance(mode, FaultMode) else (mode, 1.0)


def _shares(parameters: CorrelationParameters) -> tuple[float, float, float]:
    """Shares of hidden, of permanent faults, and of those that act with each of ``ACTIVITIES``."""
    seen = 1.0 - parameters.hidden
    return (
        parameters.hidden,
        seen * (1.0 - parameters.intermittent),
        seen * parameters.intermittent / len(ACTIVITIES),
    )
