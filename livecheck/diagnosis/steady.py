"""Faults that act in every run: what a check has shown of one it will show again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product
from math import exp, log

from livecheck.diagnosis.readings import Group, Members, Readings, Spot, log_sum

Look = tuple[str, str, float]
"""(Check, its kin, its detect)."""

_LEAST = 1e-300
"""In place of 0, which has no logarithm: a pass that a fault never seen to miss cannot give."""


class Steady:
    """Likelihood ratios of steady faults against no fault.

    Whether a kin, and each of its checks, can see a fault is the same in all runs, and
    summed over: exact, as spots meet only in their check and checks only in their kin.
    """

    def __init__(self, readings: Readings) -> None:
        self._readings = readings
        self._kins: dict[str, dict[str, dict[Spot, list[Group]]]] = {}
        self._of: dict[int, set[str]] = {}
        self._checks: dict[tuple[str, int], set[str]] = {}
        self._failing = readings.failing
        for group in _merged(readings.groups):
            checks = self._kins.setdefault(group.kin, {})
            checks.setdefault(group.spot[0], {}).setdefault(group.spot, []).append(group)
            for number in group.detects:
                self._of.setdefault(number, set()).add(group.kin)
                self._checks.setdefault((group.kin, number), set()).add(group.spot[0])
        self._gains: dict[Members, float] = {(): 0.0}
        self._by_kin: dict[tuple[str, int], float] = {}
        self._by_check: dict[tuple[str, str, Members], float] = {}

    def gain(self, members: Members) -> float:
        """Log-likelihood with these faults, against none."""
        known = self._gains.get(members)
        if known is None:
            rest, circle = self._readings.apart(members)
            if rest:
                known = self.gain(rest) + self.gain(circle)
            else:
                kins = sorted(set().union(*(self._of.get(number, ()) for number in circle)))
                known = sum(self._alone(kin, number) for number in circle for kin in kins)
                known += sum(self._joint(kin, circle) for kin in kins)
            self._gains[members] = known
        return known

    def quiet(self, number: int, looks: Sequence[Look], repeats: int = 1) -> float:
        """Chance that ``repeats`` further runs of these checks do not show the fault."""
        by_kin: dict[str, list[Look]] = {}
        for look in looks:
            by_kin.setdefault(look[1], []).append(look)
        whole = 1.0
        for kin, some in by_kin.items():
            best = max(detect for _, _, detect in some)
            prior = self._readings.visible(kin, number, best)
            shown = exp(self._alone(kin, number))
            # The share of the kin's likelihood in which it can see the fault.
            visible = 1.0 - (1.0 - prior) / shown if shown > 1.0 - prior else 0.0
            calm = 1.0
            for check, _, detect in some:
                calm *= self._calm(kin, check, number, detect, best, repeats)
            whole *= 1.0 - visible + visible * calm
        return whole

    def _calm(
        self, kin: str, check: str, number: int, detect: float, best: float, repeats: int
    ) -> float:
        visible = self._readings.visible(kin, number, best)
        prior = self._readings.sees(kin, check, number, detect)
        spots = self._kins.get(kin, {}).get(check, {})
        weight = prior * self._spots(spots, kin, {number: prior})
        sees = weight / (1.0 - prior + weight)
        return 1.0 - sees + sees * (1.0 - min(0.999, detect / visible / prior)) ** repeats

    def _alone(self, kin: str, number: int) -> float:
        if kin not in self._of.get(number, ()):
            return 0.0
        key = (kin, number)
        if key not in self._by_kin:
            self._by_kin[key] = self._kin(kin, (number,))
        return self._by_kin[key]

    def _joint(self, kin: str, members: Members) -> float:
        """What several faults of one kin say together beyond each alone."""
        here = tuple(number for number in members if kin in self._of.get(number, ()))
        shared = self._failing.get(kin, ())
        if len(here) < 2 or not any(len(some.intersection(here)) > 1 for some in shared):
            # Without a failure that several could explain the sum is a product.
            return 0.0
        return self._kin(kin, here) - sum(self._alone(kin, number) for number in here)

    def _kin(self, kin: str, members: Members) -> float:
        chances = [self._readings.visible(kin, number) for number in members]
        logs: list[float] = []
        for flags in product((True, False), repeat=len(members)):
            weight = 1.0
            for flag, chance in zip(flags, chances, strict=True):
                weight *= chance if flag else 1.0 - chance
            if weight > 0.0:
                seen = [number for number, flag in zip(members, flags, strict=True) if flag]
                logs.append(log(weight) + self._of_visible(kin, seen))
        return log_sum(logs)

    def _of_visible(self, kin: str, members: Sequence[int]) -> float:
        total = 0.0
        checks = set().union(*(self._checks.get((kin, number), ()) for number in members))
        for check in sorted(checks):
            here = tuple(n for n in members if check in self._checks.get((kin, n), ()))
            key = (kin, check, here)
            if key not in self._by_check:
                self._by_check[key] = log(max(self._check(kin, check, here), _LEAST))
            total += self._by_check[key]
        return total

    def _check(self, kin: str, check: str, members: Members) -> float:
        """Likelihood ratio of a check's readings when its kin can see these faults."""
        chances = [self._readings.sees(kin, check, number) for number in members]
        spots = self._kins[kin][check]
        value = 0.0
        for flags in product((True, False), repeat=len(members)):
            weight = 1.0
            shown: dict[int, float] = {}
            for number, flag, chance in zip(members, flags, chances, strict=True):
                weight *= chance if flag else 1.0 - chance
                if flag:
                    shown[number] = chance
            if weight > 0.0:
                # With no fault seen the readings are as without fault.
                value += weight * self._spots(spots, kin, shown) if shown else weight
        return value

    def _spots(
        self, spots: Mapping[Spot, Sequence[Group]], kin: str, shown: Mapping[int, float]
    ) -> float:
        """Likelihood ratio of a check's readings; ``shown``: fault -> chance that it is seen."""
        rates = {n: self._readings.visible(kin, n) * sees for n, sees in shown.items()}
        value = 1.0
        for spot, groups in spots.items():
            ratio = 1.0
            for group in groups:
                ratio *= group.ratio(rates)
            alarm = self._readings.alarms[spot]
            if alarm.stays > 0.0:
                passing = exp(log(ratio) + alarm.log_share(stays=False)) if ratio else 0.0
                ratio = exp(alarm.log_share(stays=True)) + passing
            value *= ratio
        return value


def _merged(groups: Sequence[Group]) -> list[Group]:
    """Equal evidence of all runs counted together: which run it came from is all one here."""
    found: dict[tuple[object, ...], Group] = {}
    for group in groups:
        key = (group.kin, group.spot, tuple(group.detects.items()), group.covered)
        if key in found:
            found[key].fails += group.fails
            found[key].passes += group.passes
        else:
            found[key] = group.copy()
    return list(found.values())
