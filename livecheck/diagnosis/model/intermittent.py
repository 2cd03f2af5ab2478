"""Faults that come and go: in a run they act or rest, for all checks alike.

In a run in which they act each symptom group sees them or not, mostly as it did before
(``showing``); a run in which they rest is as one without fault, whatever was asked. So the
passes of one run are one witness, not many, and so are its failures. The chance to act is one
of ``ACTIVITIES``, the same for all runs and faults of a case.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product
from math import log, prod
from operator import mul
from typing import Final

from livecheck.diagnosis.model.evidence import ACTIVITIES, Members, ReadingGroup, Readings
from livecheck.diagnosis.model.false_alarms import NEVER, TestPoint
from livecheck.diagnosis.model.permanent import Look
from livecheck.diagnosis.model.run_products import RunProducts, Runs, each_run, run_products
from livecheck.diagnosis.model.showing import SURE, RunSays, Showing

MAX_TEST_POINTS: Final = 6
"""Alarms that may stay are summed over for so many test points of a fault set, the most failed;
a further one stays or not, whichever is likelier with these faults."""

_MEAN: Final = sum(ACTIVITIES) / len(ACTIVITIES)
"""Chance to act in a run, before anything was read."""

Cell = tuple[int, str]
"""(Run, symptom group): the readings a fault's events of one run can show in."""
Stays = Mapping[TestPoint, bool]
"""Whether the alarm of a test point stays, for those that are summed over."""
Joint = list[tuple[Cell, Members]]
"""Cells, each with those of the faults that it looked at."""


class Intermittent:
    """Likelihood ratios of faults that come and go, against no fault."""

    def __init__(self, readings: Readings) -> None:
        self._readings = readings
        runs, counts = each_run(readings.groups)
        # In an order of their own, so that what was run first is all one.
        self._looks = [sorted((g.test_point, g.fails, g.passes) for g in some) for some in runs]
        self._runs = Runs(counts)
        self._cells: dict[Cell, list[ReadingGroup]] = {}
        self._of: dict[int, dict[Cell, None]] = {}
        self._failing: dict[Cell, list[frozenset[int]]] = {}
        self._failed: dict[int, dict[Cell, None]] = {}
        self._stuck: dict[int, set[TestPoint]] = {}
        self._alarming: dict[TestPoint, list[ReadingGroup]] = {}
        self._open: dict[Cell, dict[TestPoint, None]] = {}
        for turn, groups in enumerate(runs):
            for group in groups:
                self._take((turn, group.symptom_group), group.copy())
        self._values: dict[tuple[object, ...], float] = {}
        self._beyond: dict[tuple[object, ...], float] = {}
        self._test_points: dict[Members, frozenset[TestPoint]] = {}
        self._closed: dict[int, list[float]] = {}
        self._singles: dict[tuple[object, ...], list[float]] = {}
        self._known: dict[tuple[Members, frozenset[TestPoint]], RunProducts] = {}
        self._shows: dict[tuple[Cell, int], float] = {}
        self._showing: dict[tuple[str, int], Showing] = {}
        for number in self._failed:
            self._learn(number)

    def _take(self, cell: Cell, group: ReadingGroup) -> None:
        self._cells.setdefault(cell, []).append(group)
        stays = self._readings.false_alarms[group.source].open
        if stays:
            self._open.setdefault(cell, {})[group.source] = None
        for number in group.detects:
            self._of.setdefault(number, {})[cell] = None
        if group.fails:
            self._failing.setdefault(cell, []).append(frozenset(group.detects))
            self._alarming.setdefault(group.source, []).append(group)
            for number in group.detects:
                self._failed.setdefault(number, {})[cell] = None
                if stays:
                    self._stuck.setdefault(number, set()).add(group.source)

    def _learn(self, number: int) -> None:
        """What a fault has shown in one run it shows again in the next that it acts in.

        Whether a symptom group, and each check in it, can see the fault is the same in all runs;
        what is left of their chances is new in each. By Bayes' rule from run to run, over those
        with a failure that it could explain.
        """
        failed = {turn for turn, _ in self._failed[number]}
        by_turn: dict[int, list[str]] = {}
        for turn, symptom_group in self._of[number]:
            seen = self._readings.visible(symptom_group, number) > 0.0
            if seen and symptom_group not in self._readings.of_states:
                by_turn.setdefault(turn, []).append(symptom_group)
        for turn in sorted(by_turn, key=lambda turn: (turn not in failed, self._looks[turn])):
            told = [self._expect((turn, group), number) for group in by_turn[turn]]
            ratio = min(SURE, prod(one.ratio for one in told))
            acts = _MEAN * ratio / (1.0 - _MEAN + _MEAN * ratio)
            for one in told if turn in failed else ():
                one.showing.keep(one, acts)

    def _expect(self, cell: Cell, number: int) -> RunSays:
        """What a cell says of a fault, by the chances that hold for its run."""
        symptom_group = cell[1]
        known = self._showing.get((symptom_group, number))
        if known is None:
            known = Showing(self._readings, symptom_group, number)
            self._showing[symptom_group, number] = known
        self._shows[cell, number] = known.shows
        return known.take([group for group in self._cells[cell] if number in group.detects])

    def gains(self, members: Members) -> list[float]:
        """For each of ``ACTIVITIES`` the log-likelihood with these faults, against none."""
        if not members:
            return [0.0] * len(ACTIVITIES)
        return self._runs.logs(self._products(members, self._bounded(members)))

    def plain(self, rest: Members, coupled: Members) -> float:
        """Sum over ``ACTIVITIES`` of the likelihood, if ``Runs.plain`` can tell.

        ``rest`` and ``coupled``: as ``split_coupled`` gives them.
        """
        test_points, others = self._stuck_of(rest), self._stuck_of(coupled)
        bounded: frozenset[TestPoint] = frozenset()
        if len(test_points) + len(others) > MAX_TEST_POINTS:
            bounded = self._bounded(rest + coupled)
        first = self._products(rest, bounded) if rest else self._runs.nothing
        return self._runs.plain(first, self._products(coupled, bounded))

    def miss_probability(
        self, number: int, looks: Sequence[Look], acts: float, repeats: int = 1
    ) -> float:
        """Chance that ``repeats`` further runs of these checks do not show the fault."""
        by_group: dict[str, list[tuple[str, float]]] = {}
        for check, symptom_group, detect in looks:
            by_group.setdefault(symptom_group, []).append((check, detect))
        calm = 1.0
        for symptom_group, some in by_group.items():
            best = max(detect for _, detect in some)
            visible = self._readings.visible(symptom_group, number, best)
            known = self._showing.get((symptom_group, number))
            missed = 1.0
            for check, detect in some:
                again = 1.0 if known is None else known.again(check)
                missed *= 1.0 - min(0.999, detect * again / visible)
            shows = visible if known is None else known.shows
            calm *= 1.0 - shows + shows * missed
        once: float = 1.0 - acts + acts * calm
        return once**repeats

    def _bounded(self, members: Members) -> frozenset[TestPoint]:
        """Test points whose alarm may stay, but is not summed over, as there are too many."""
        test_points = self._stuck_of(members)
        if len(test_points) <= MAX_TEST_POINTS:
            return frozenset()
        false_alarms = self._readings.false_alarms

        def weight(source: TestPoint) -> tuple[int, int, TestPoint]:
            # What several checks share is summed over first.
            alarm = false_alarms[source]
            return (-len(alarm.test_points), -alarm.fails, source)

        ranked = sorted(test_points, key=weight)
        return frozenset(ranked[MAX_TEST_POINTS:])

    def _stuck_of(self, members: Members) -> frozenset[TestPoint]:
        """Test points whose alarm may stay at which these faults could have been seen."""
        test_points = self._test_points.get(members)
        if test_points is None:
            test_points = frozenset().union(*(self._stuck.get(number, ()) for number in members))
            self._test_points[members] = test_points
        return test_points

    def _products(self, members: Members, bounded: frozenset[TestPoint]) -> RunProducts:
        """One product for each way the false alarms that may stay do so or not."""
        key = (members, bounded and bounded & self._stuck_of(members))
        known = self._known.get(key)
        if known is None:
            rest, coupled = self._readings.split_coupled(members)
            if rest:
                # No failure that both could explain: the ratios of each run multiply.
                known = self._products(rest, bounded).times(self._products(coupled, bounded))
            else:
                known = self._joint_products(coupled, bounded)
            self._known[key] = known
        return known

    def _joint_products(self, members: Members, bounded: frozenset[TestPoint]) -> RunProducts:
        false_alarms = self._readings.false_alarms
        stuck = self._stuck_of(members)
        summed = sorted(stuck - bounded)
        likelier = {at: self._likelier(at, members) for at in stuck & bounded}
        joint = self._joint_cells(members) if len(members) > 1 else []
        moved = [(cell, here) for cell, here in joint if cell in self._open]
        settled = [1.0] * len(self._runs.counts)
        for cell, here in joint:
            if cell not in self._open:
                settled[cell[0]] *= self._together(cell, here, {})
        found = []
        for flags in product((True, False), repeat=len(summed)):
            stays = {**likelier, **dict(zip(summed, flags, strict=True))}
            weight = sum(false_alarms[at].log_share(stays=flag) for at, flag in stays.items())
            found.append((weight, self._ratios(members, (settled, moved), stays)))
        return run_products(found)

    def _likelier(self, source: TestPoint, members: Members) -> bool:
        """Whether the alarms of a test point that fails rather stay, with these faults acting."""
        alarm, visible = self._readings.false_alarms[source], self._readings.visible
        chances = {flag: alarm.log_share(stays=flag) for flag in (True, False)}
        for group in self._alarming[source]:
            rates = {n: visible(group.symptom_group, n) for n in members if n in group.detects}
            for flag in chances:
                ratio = group.ratio(rates, group.shown if flag else None)
                chances[flag] += log(ratio) if ratio > 0.0 else NEVER
        return chances[True] > chances[False]

    def _ratios(
        self, members: Members, joint: tuple[list[float], Joint], stays: Stays
    ) -> list[float]:
        ratios, moved = joint
        for number in members:
            ratios = list(map(mul, ratios, self._single(number, stays)))
        for cell, here in moved:
            ratios[cell[0]] *= self._together(cell, here, stays)
        return ratios

    def _together(self, cell: Cell, members: Members, stays: Stays) -> float:
        """What several faults say of a cell beyond what each says alone."""
        key = (cell, members, *map(stays.get, self._open.get(cell, ())))
        value = self._beyond.get(key)
        if value is None:
            alone = prod(self._value(cell, (number,), stays) for number in members)
            value = self._beyond[key] = self._value(cell, members, stays) / alone
        return value

    def _single(self, number: int, stays: Stays) -> list[float]:
        """Likelihood ratio of each run in which this fault acts."""
        key = (number, *map(stays.get, sorted(self._stuck_of((number,)))))
        ratios = self._singles.get(key)
        if ratios is None:
            cells = [cell for cell in self._of.get(number, ()) if cell in self._open]
            ratios = self._singles[key] = list(self._settled(number))
            for cell in cells:
                ratios[cell[0]] *= self._value(cell, (number,), stays)
        return ratios

    def _settled(self, number: int) -> list[float]:
        """The same by the readings that no alarm that may stay has a part in."""
        ratios = self._closed.get(number)
        if ratios is None:
            ratios = self._closed[number] = [1.0] * len(self._runs.counts)
            for cell in self._of.get(number, ()):
                if cell not in self._open:
                    ratios[cell[0]] *= self._value(cell, (number,), {})
        return ratios

    def _joint_cells(self, members: Members) -> Joint:
        """Where a failure could come from several: all else is the product of each alone."""
        found = []
        for cell in dict.fromkeys(cell for n in members for cell in self._failed.get(n, ())):
            if any(len(some.intersection(members)) > 1 for some in self._failing[cell]):
                found.append((cell, tuple(n for n in members if cell in self._of.get(n, ()))))
        return found

    def _value(self, cell: Cell, members: Members, stays: Stays) -> float:
        key = (cell, members, *map(stays.get, self._open.get(cell, ())))
        value = self._values.get(key)
        if value is None:
            value = self._values[key] = self._cell(cell, members, stays)
        return value

    def _cell(self, cell: Cell, members: Members, stays: Stays) -> float:
        """Likelihood ratio of one run's readings of a symptom group when the faults act."""
        chances = [self._readings.visible(cell[1], number) for number in members]
        total = 0.0
        for flags in product((True, False), repeat=len(members)):
            weight = 1.0
            rates: dict[int, float] = {}
            for number, flag, chance in zip(members, flags, chances, strict=True):
                shows = self._shows.get((cell, number), chance)
                weight *= shows if flag else 1.0 - shows
                if flag:
                    rates[number] = chance
            if weight > 0.0:
                # With no fault seen the readings are as without fault.
                for group in self._cells[cell] if rates else ():
                    weight *= group.ratio(rates, group.shown if stays.get(group.source) else None)
                total += weight
        return total
