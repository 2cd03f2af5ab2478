"""Faults that act in every run: what a check has shown of one it will show again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product
from math import exp, log, prod

from livecheck.diagnosis.model.evidence import Members, ReadingGroup, Readings
from livecheck.diagnosis.model.false_alarms import TestPoint, log_sum

Point = tuple[TestPoint, TestPoint]
"""A test point, and the source of its false alarms: a part that moved has several."""
States = Mapping[TestPoint, bool]
"""Source of false alarms that several checks share -> whether it is there."""
Look = tuple[str, str, float]
"""(Check, its symptom group, its detect)."""

_MIN = 1e-300
"""In place of 0, which has no logarithm: a pass that a fault never seen to miss cannot give."""


class Permanent:
    """Likelihood ratios of permanent faults against no fault.

    Whether a symptom group, and each of its checks, can see a fault is the same in all runs, and
    summed over: exact, as test points meet only in their check and checks only in their group.
    """

    def __init__(self, readings: Readings) -> None:
        self._readings = readings
        self._groups_of_checks: dict[str, dict[str, dict[Point, list[ReadingGroup]]]] = {}
        self._of: dict[int, set[str]] = {}
        self._checks: dict[tuple[str, int], set[str]] = {}
        self._failing = readings.failing
        self._shared: dict[tuple[str, int], set[TestPoint]] = {}
        for group in _merged(readings.groups):
            alarm = readings.false_alarms[group.source]
            if group.fails and alarm.open and len(alarm.test_points) > 1:
                for number in group.detects:
                    own = (group.symptom_group, number)
                    self._shared.setdefault(own, set()).add(group.source)
            checks = self._groups_of_checks.setdefault(group.symptom_group, {})
            check, _ = group.test_point
            point = (group.test_point, group.source)
            checks.setdefault(check, {}).setdefault(point, []).append(group)
            for number in group.detects:
                self._of.setdefault(number, set()).add(group.symptom_group)
                self._checks.setdefault((group.symptom_group, number), set()).add(check)
        self._gains: dict[Members, float] = {(): 0.0}
        self._by_group: dict[tuple[str, int], float] = {}
        self._by_check: dict[tuple[object, ...], float] = {}

    def gain(self, members: Members) -> float:
        """Log-likelihood with these faults, against none."""
        known = self._gains.get(members)
        if known is None:
            rest, coupled = self._readings.split_coupled(members)
            if rest:
                known = self.gain(rest) + self.gain(coupled)
            else:
                seen = sorted(set().union(*(self._of.get(number, ()) for number in coupled)))
                known = sum(self._alone(group, number) for number in coupled for group in seen)
                known += sum(self._joint(group, coupled) for group in seen)
            self._gains[members] = known
        return known

    def miss_probability(self, number: int, looks: Sequence[Look], repeats: int = 1) -> float:
        """Chance that ``repeats`` further runs of these checks do not show the fault."""
        by_group: dict[str, list[Look]] = {}
        for look in looks:
            by_group.setdefault(look[1], []).append(look)
        whole = 1.0
        for symptom_group, some in by_group.items():
            best = max(detect for _, _, detect in some)
            prior = self._readings.visible(symptom_group, number, best)
            shown = exp(self._alone(symptom_group, number))
            # The share of the symptom group's likelihood in which it can see the fault.
            visible = 1.0 - (1.0 - prior) / shown if shown > 1.0 - prior else 0.0
            calm = 1.0
            for look in some:
                calm *= self._calm(look, number, best, repeats)
            whole *= 1.0 - visible + visible * calm
        return whole

    def _calm(self, look: Look, number: int, best: float, repeats: int) -> float:
        check, symptom_group, detect = look
        visible = self._readings.visible(symptom_group, number, best)
        prior = self._readings.sees(symptom_group, check, number, detect)
        test_points = self._groups_of_checks.get(symptom_group, {}).get(check, {})
        rates = {number: visible * prior}
        weight = prior * self._test_points(test_points, rates, {})
        rest = 1.0 - prior + weight  # Nothing is left of a fault that would have shown for sure.
        sees = weight / rest if rest > 0.0 else 0.0
        return 1.0 - sees + sees * (1.0 - min(0.999, detect / visible / prior)) ** repeats

    def _alone(self, symptom_group: str, number: int) -> float:
        if symptom_group not in self._of.get(number, ()):
            return 0.0
        key = (symptom_group, number)
        if key not in self._by_group:
            self._by_group[key] = self._of_group(symptom_group, (number,))
        return self._by_group[key]

    def _joint(self, symptom_group: str, members: Members) -> float:
        """What several faults of one symptom group say together beyond each alone."""
        here = tuple(number for number in members if symptom_group in self._of.get(number, ()))
        shared = self._failing.get(symptom_group, ())
        if len(here) < 2 or not any(len(some.intersection(here)) > 1 for some in shared):
            # Without a failure that several could explain the sum is a product.
            return 0.0
        return self._of_group(symptom_group, here) - sum(
            self._alone(symptom_group, number) for number in here
        )

    def _of_group(self, symptom_group: str, members: Members) -> float:
        """Summed over what the group can see, and over the hidden states its checks share."""
        shared = sorted({s for n in members for s in self._shared.get((symptom_group, n), ())})
        alarms = self._readings.false_alarms
        logs: list[float] = []
        for flags in product((True, False), repeat=len(shared)):
            states = dict(zip(shared, flags, strict=True))
            weight = sum(alarms[source].log_share(stays=flag) for source, flag in states.items())
            logs.append(weight + self._of_states(symptom_group, members, states))
        return log_sum(logs)

    def _of_states(self, symptom_group: str, members: Members, states: States) -> float:
        chances = [self._readings.visible(symptom_group, number) for number in members]
        logs: list[float] = []
        for flags in product((True, False), repeat=len(members)):
            weight = 1.0
            for flag, chance in zip(flags, chances, strict=True):
                weight *= chance if flag else 1.0 - chance
            if weight > 0.0:
                seen = [number for number, flag in zip(members, flags, strict=True) if flag]
                logs.append(log(weight) + self._of_visible(symptom_group, seen, states))
        return log_sum(logs)

    def _of_visible(self, symptom_group: str, members: Sequence[int], states: States) -> float:
        total = 0.0
        checks = set().union(*(self._checks.get((symptom_group, number), ()) for number in members))
        for check in sorted(checks):
            here = tuple(n for n in members if check in self._checks.get((symptom_group, n), ()))
            key = (symptom_group, check, here, *states.items())
            if key not in self._by_check:
                value = self._check(symptom_group, check, here, states)
                self._by_check[key] = log(max(value, _MIN))
            total += self._by_check[key]
        return total

    def _check(self, symptom_group: str, check: str, members: Members, states: States) -> float:
        """Likelihood ratio of a check's readings when its symptom group can see these faults."""
        chances = [self._readings.sees(symptom_group, check, number) for number in members]
        test_points = self._groups_of_checks[symptom_group][check]
        value = 0.0
        for flags in product((True, False), repeat=len(members)):
            weight = 1.0
            rates: dict[int, float] = {}
            for number, flag, chance in zip(members, flags, chances, strict=True):
                weight *= chance if flag else 1.0 - chance
                if flag:
                    rates[number] = self._readings.visible(symptom_group, number) * chance
            if weight > 0.0:
                # With no fault seen the readings are as without fault.
                value += weight * (self._test_points(test_points, rates, states) if rates else 1.0)
        return value

    def _test_points(
        self,
        test_points: Mapping[Point, Sequence[ReadingGroup]],
        rates: Mapping[int, float],
        states: States,
    ) -> float:
        """Likelihood ratio of a check's readings; ``rates``: fault -> chance to be seen at all."""
        value = 1.0
        for groups in test_points.values():
            if all(group.detects.keys().isdisjoint(rates) for group in groups):
                continue  # None of these faults shows there: as likely with them as without.
            source = groups[0].source
            alarm = self._readings.false_alarms[source]
            if not alarm.open:
                value *= _ratio(groups, rates, stays=False)
            elif source in states:
                value *= _ratio(groups, rates, stays=states[source])
            else:
                value *= sum(
                    exp(alarm.log_share(stays=flag)) * _ratio(groups, rates, stays=flag)
                    for flag in (True, False)
                )
        return value


def _ratio(groups: Sequence[ReadingGroup], rates: Mapping[int, float], *, stays: bool) -> float:
    """Likelihood ratio of one test point's readings, whether or not its false alarms stay."""
    return prod(group.ratio(rates, group.shown if stays else None) for group in groups)


def _merged(groups: Sequence[ReadingGroup]) -> list[ReadingGroup]:
    """Equal evidence of all runs counted together: which run it came from is all one here."""
    found: dict[tuple[object, ...], ReadingGroup] = {}
    for group in groups:
        alike = (group.symptom_group, group.test_point, group.source, group.covered, group.chance)
        key = (*alike, tuple(group.detects.items()))
        if key in found:
            found[key].fails += group.fails
            found[key].passes += group.passes
        else:
            found[key] = group.copy()
    return list(found.values())
