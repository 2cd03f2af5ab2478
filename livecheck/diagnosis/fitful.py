"""Faults that come and go: in a run they act or rest, for all checks alike.

In a run in which they act each kin sees them or not, anew; a run in which they rest is
as one without fault, whatever was asked. So the passes of one run are one witness, not
many, and so are its failures. The chance to act is one of ``ACTS``, the same for all
runs and faults of a case.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations, product
from math import exp, log, prod
from typing import Final

from livecheck.diagnosis.readings import ACTS, Group, Members, Readings, Spot
from livecheck.diagnosis.steady import Look, log_sum

MOST_SPOTS: Final = 4
"""Alarms that may stay are summed over for so many spots of a fault set, the most failed;
a further one's chance is spread evenly over its failures."""

_FEW: Final = 4
_LARGE: Final = 1e3

Cell = tuple[int, str]
"""(Run, kin): the readings a fault's events of one run can show in."""
Stays = Mapping[Spot, bool]
"""Spot -> whether its alarm stays, for the spots that are summed over."""
Lines = list[tuple[float, list[float]]]
"""(Log weight, likelihood ratio of each run in which the faults act)."""


class Fitful:
    """Likelihood ratios of faults that come and go, against no fault."""

    def __init__(self, readings: Readings) -> None:
        self._readings = readings
        runs, self._counts = _runs(readings.groups)
        self._cells: dict[Cell, list[Group]] = {}
        self._of: dict[int, list[Cell]] = {}
        self._failing: dict[Cell, list[frozenset[int]]] = {}
        self._stuck: dict[int, set[Spot]] = {}
        for turn, groups in enumerate(runs):
            for group in groups:
                self._take((turn, group.kin), group)
        self._values: dict[tuple[object, ...], float] = {}
        self._singles: dict[int, Lines] = {}
        self._shared = readings.shared

    def _take(self, cell: Cell, group: Group) -> None:
        self._cells.setdefault(cell, []).append(group)
        for number in group.detects:
            cells = self._of.setdefault(number, [])
            if cell not in cells:
                cells.append(cell)
        if group.fails:
            self._failing.setdefault(cell, []).append(frozenset(group.detects))
            if self._readings.alarms[group.spot].stays > 0.0:
                for number in group.detects:
                    self._stuck.setdefault(number, set()).add(group.spot)

    def gains(self, members: Members) -> list[float]:
        """For each of ``ACTS`` the log-likelihood with these faults, against none."""
        if not members:
            return [0.0] * len(ACTS)
        lines = self._lines(members)
        return [
            log_sum([weight + self._summed(ratios, acts) for weight, ratios in lines])
            for acts in ACTS
        ]

    def quiet(self, number: int, looks: Sequence[Look], acts: float, repeats: int = 1) -> float:
        """Chance that ``repeats`` further runs of these checks do not show the fault."""
        by_kin: dict[str, list[float]] = {}
        for _, kin, detect in looks:
            by_kin.setdefault(kin, []).append(detect)
        calm = 1.0
        for kin, detects in by_kin.items():
            visible = self._readings.visible(kin, number, max(detects))
            missed = 1.0
            for detect in detects:
                missed *= 1.0 - min(0.999, detect / visible)
            calm *= 1.0 - visible + visible * missed
        once: float = 1.0 - acts + acts * calm
        return once**repeats

    def _summed(self, ratios: Sequence[float], acts: float) -> float:
        """Log of the product over all runs of acting or resting in each."""
        total, value = 0.0, 1.0
        for ratio, count in zip(ratios, self._counts, strict=True):
            if ratio == 1.0:
                continue
            term = 1.0 + acts * (ratio - 1.0)
            if count > _FEW or term > _LARGE:
                total += count * log(term)
            else:
                # One logarithm for many runs: no term is so small or large that it would not fit.
                value *= term**count
        return total + log(value)

    def _lines(self, members: Members) -> Lines:
        if len(members) == 1:
            number = members[0]
            if number not in self._singles:
                self._singles[number] = self._all_lines(members)
            return self._singles[number]
        if len(members) == 2 and members not in self._shared:
            first, second = (self._lines((number,)) for number in members)
            if len(first) == 1 or len(second) == 1:
                # No failure that both could explain: the ratios of each run multiply.
                return [
                    (one + other, [a * b for a, b in zip(left, right, strict=True)])
                    for one, left in first
                    for other, right in second
                ]
        return self._all_lines(members)

    def _all_lines(self, members: Members) -> Lines:
        """One line for each way the alarms that may stay do so or not."""
        alarms = self._readings.alarms
        spots = set().union(*(self._stuck.get(number, set()) for number in members))
        ranked = sorted(spots, key=lambda spot: (-alarms[spot].fails, spot))[:MOST_SPOTS]
        lines: Lines = []
        for flags in product((True, False), repeat=len(ranked)):
            stays = dict(zip(ranked, flags, strict=True))
            weight = sum(alarms[spot].log_share(stays=flag) for spot, flag in stays.items())
            lines.append((weight, self._ratios(members, stays)))
        return lines

    def _ratios(self, members: Members, stays: Stays) -> list[float]:
        ratios = [1.0] * len(self._counts)
        for number in members:
            for cell in self._of[number]:
                ratios[cell[0]] *= self._value(cell, (number,), stays)
        if len(members) > 1 and any(p in self._shared for p in combinations(members, 2)):
            # Only a failure that several could explain is not the product of each alone.
            for cell in dict.fromkeys(c for number in members for c in self._of[number]):
                here = tuple(number for number in members if cell in self._of[number])
                failing = self._failing.get(cell, ())
                if any(len(some.intersection(here)) > 1 for some in failing):
                    alone = prod(self._value(cell, (number,), stays) for number in here)
                    ratios[cell[0]] *= self._value(cell, here, stays) / alone
        return ratios

    def _value(self, cell: Cell, members: Members, stays: Stays) -> float:
        key = (cell, members, *(stays.get(group.spot) for group in self._cells[cell]))
        if key not in self._values:
            self._values[key] = self._cell(cell, members, stays)
        return self._values[key]

    def _cell(self, cell: Cell, members: Members, stays: Stays) -> float:
        """Likelihood ratio of one run's readings of a kin when the faults act."""
        chances = [self._readings.visible(cell[1], number) for number in members]
        total = 0.0
        for flags in product((True, False), repeat=len(members)):
            weight = 1.0
            rates: dict[int, float] = {}
            for number, flag, chance in zip(members, flags, chances, strict=True):
                weight *= chance if flag else 1.0 - chance
                if flag:
                    rates[number] = chance
            if weight > 0.0:
                for group in self._cells[cell]:
                    weight *= self._group(group, rates, stays)
                total += weight
        return total

    def _group(self, group: Group, rates: Mapping[int, float], stays: Stays) -> float:
        alarm = self._readings.alarms[group.spot]
        if alarm.stays == 0.0 or group.spot in stays:
            return 1.0 if stays.get(group.spot) else group.ratio(rates)
        return group.ratio(rates, exp(alarm.log_base / alarm.fails))


def _runs(groups: Sequence[Group]) -> tuple[list[list[Group]], list[int]]:
    """Each different run's readings, and how many runs were just so."""
    by_run: dict[int, list[Group]] = {}
    for group in groups:
        by_run.setdefault(group.run, []).append(group)
    found: dict[tuple[object, ...], list[Group]] = {}
    counts: dict[tuple[object, ...], int] = {}
    for some in by_run.values():
        key = tuple((g.spot, tuple(g.detects.items()), g.fails, g.passes, g.covered) for g in some)
        found.setdefault(key, some)
        counts[key] = counts.get(key, 0) + 1
    return list(found.values()), [counts[key] for key in found]
