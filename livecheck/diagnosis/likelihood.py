"""How well a set of faults explains the readings: the noisy-OR, and what repeats in it.

Model: a set D of faulty components makes a check fail with probability
1 - (1 - false alarm) * product over the exercised c in D of (1 - detect), the
leaky noisy-OR of Pearl, *Probabilistic Reasoning in Intelligent Systems* (1988),
section 4.3. Faults persist over the runs of a case.

Readings are no independent witnesses. What they share is a hidden cause, summed over
exactly, as in any Bayesian network; ``Weights`` holds figures of shared/model.toml,
and with all at 0 this is the plain noisy-OR. A detect is the chance of showing in a run
in which the fault acts.

- ``modes`` (not a weight): a part fails in one of several ways, each seen by its own checks.
- ``hidden``: share of faults that no check sees, however often it looks. "Over half of
  failed drives had none of four signals" (Pinheiro, Weber, Barroso, FAST 2007).
- ``fitful``: share of faults that come and go: in each run they act, for all checks, or
  rest (``fitful``). The others act always (``steady``), and what one check
  has shown of such a fault it will show again (``settled``).
- ``kin``: checks that look at the same events of a fault see it together or not at all.
- ``alarms``: share of false alarms that stay with a check where it was read, in every run.
- ``doubt``: every log-likelihood ratio is shortened by this share, because no table fits
  every machine: the power posterior, for models known to be wrong (Grünwald, *The Safe
  Bayesian*, ALT 2012).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from math import exp, log
from typing import Final

from livecheck.diagnosis.blame import Factor
from livecheck.diagnosis.fitful import Fitful
from livecheck.diagnosis.lines import LEAST, MOST
from livecheck.diagnosis.modes import Form, Shares
from livecheck.diagnosis.priors import Weights
from livecheck.diagnosis.readings import ACTS, NEVER, Alarm, Members, Readings, log_sum
from livecheck.diagnosis.steady import Look, Steady

INDEPENDENT: Final = Weights()
_LARGE: Final = 500.0
"""A logarithm whose exponential still fits a number."""


class Likelihood:
    """Log-likelihoods of fault sets, against no fault."""

    def __init__(
        self, factors: Sequence[Factor], weights: Weights, modes: Sequence[Shares] = ()
    ) -> None:
        """``modes``: of each component the shares of its ways of failing; empty: one each."""
        self.readings = Readings(factors, weights, modes)
        self._counts = 1.0 - weights.doubt
        self._steady = Steady(self.readings)
        self._fitful = Fitful(self.readings)
        self._shares = _shares(weights)
        self._gains: dict[Members, float] = {(): 0.0}
        self._nature: dict[int, list[tuple[Form | int, list[float]]]] = {}

    @property
    def empty(self) -> float:
        """Log-likelihood of all readings with nothing at fault."""
        return sum(alarm.log_base for alarm in self.readings.alarms.values())

    def gain(self, members: Members) -> float:
        """Log-likelihood with these faults, against none; components nothing exercised add 0."""
        touched = self.readings.touched
        if not touched.issuperset(members):
            members = tuple(filter(touched.__contains__, members))
        known = self._gains.get(members)
        if known is None:
            known = self._gains[members] = self._counts * self._told(members)
        return known

    def _told(self, members: Members) -> float:
        """The same before doubt, summed over the forms its members can have (``modes``)."""
        forms = self.readings.forms
        if forms.keys().isdisjoint(members):
            return self._of_forms(members)
        rows = []
        plain = ([_form(form) for form in forms.get(number, (number,))] for number in members)
        for some in product(*plain):
            share = sum(log(part) for _, part in some)
            rows.append(share + self._of_forms(tuple(sorted(own for own, _ in some))))
        return log_sum(rows)

    def _of_forms(self, members: Members) -> float:
        """Summed over the natures of the faults."""
        hidden, steady, fitful = self._shares
        rest, circle = self.readings.apart(members)
        log_steady = self._steady.gain(rest) + self._steady.gain(circle)
        if log_steady < _LARGE:
            total = hidden + steady * exp(log_steady)
            if fitful > 0.0:
                total += fitful * self._fitful.plain(rest, circle)
            if LEAST < total < MOST:
                return log(total)
        return log_sum(self._natures(members))

    def _natures(self, members: Members) -> list[float]:
        """Log of each nature's share times its likelihood: hidden, steady, each of ``ACTS``."""
        hidden, steady, fitful = self._shares
        logs = [log(hidden) if hidden > 0.0 else NEVER]
        logs.append(log(steady) + self._steady.gain(members) if steady > 0.0 else NEVER)
        if fitful > 0.0:
            logs += [log(fitful) + gain for gain in self._fitful.gains(members)]
        return logs

    def nature(self, number: int) -> list[tuple[Form | int, list[float]]]:
        """Chance that a fault is hidden, steady, or acts with each of ``ACTS``, for each form."""
        if number not in self._nature:
            rows = []
            for form in self.readings.forms.get(number, (number,)):
                own, share = _form(form)
                known = own in self.readings.touched
                logs = [log(share) + v for v in self._natures((own,) if known else ())]
                rows.append((form, logs))
            whole = log_sum([value for _, logs in rows for value in logs])
            self._nature[number] = [(f, [exp(v - whole) for v in logs]) for f, logs in rows]
        return self._nature[number]

    def quiet(self, number: int, looks: Sequence[Look], repeats: int = 1) -> float:
        """Chance that ``repeats`` further runs of these checks do not show this fault."""
        total = 0.0
        for form, (hidden, steady, *fitful) in self.nature(number):
            own, _ = _form(form)
            seen = looks
            if isinstance(form, Form):
                beside = self.readings.beside
                seen = [(c, kin, form.detect(kin, v, beside.get(c))) for c, kin, v in looks]
            total += hidden
            if steady > 0.0:
                total += steady * self._steady.quiet(own, seen, repeats)
            for share, acts in zip(fitful, ACTS[: len(fitful)], strict=True):
                total += share * self._fitful.quiet(own, seen, acts, repeats)
        return min(1.0, total)

    def could(self, check: str, at: str) -> frozenset[int]:
        """Components that the failures of a check at one spot could come from."""
        groups = (g for g in self.readings.groups if g.spot == (check, at) and g.fails)
        owner = self.readings.owner
        return frozenset(owner.get(n, n) for group in groups for n in group.detects)

    def alarm(self, check: str, at: str) -> Alarm | None:
        """What is known of false alarms of a check at one spot."""
        return self.readings.alarms.get((check, at))


def _form(form: Form | int) -> tuple[int, float]:
    """Number and share of a form; a component without forms is its own."""
    return (form.number, form.share) if isinstance(form, Form) else (form, 1.0)


def _shares(weights: Weights) -> tuple[float, float, float]:
    """Shares of hidden and of steady faults, and of those that act with each of ``ACTS``."""
    seen = 1.0 - weights.hidden
    return weights.hidden, seen * (1.0 - weights.fitful), seen * weights.fitful / len(ACTS)
