"""The readings of a case as the likelihood sees them, and how they repeat each other.

A *test point* is one check read at one component; a false alarm may stay with it. A *symptom
group* are checks that look at the same events of a fault (``Check.symptom_group``): they fail
together or not at all, so that several of them are little more than one witness.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from math import exp, log
from typing import Final

from livecheck.diagnosis.factors import Factor
from livecheck.diagnosis.model.false_alarms import FalseAlarm, StandingAlarm, TestPoint
from livecheck.diagnosis.model.fault_modes import ONE_WAY, FaultMode, Ways, fault_modes
from livecheck.diagnosis.model.priors import CorrelationParameters

ACTIVITIES: Final = (0.2, 0.45, 0.75)
"""Assumed: chances to act in a run, each for a third of the faults that come and go."""

MAX_ALARM: Final = 0.95
"""No failure is so usual that it says nothing."""
_HUGE: Final = 300.0
"""Logs of a likelihood ratio beyond this are all the same, and would not fit a number."""
_RAREST: Final = 1e-12
"""Of false alarms that pass, where a shop's table says that all of them stay."""

Members = tuple[int, ...]
"""Components taken to be at fault, by index, in order."""
FINDING_SHOWS: Final = 0.9
"""Assumed: chance that a finding that stays is read in one run."""
NOW_AND_THEN: Final = 0.35
"""Assumed: chance that an alarm that stays, and is not there in every run, is there in one."""
MOSTLY: Final = 0.8
"""Assumed: the same of one that seldom rests."""
_ALWAYS: Final = 0.97
"""Assumed: a state that is seen this often never rests for long, as a file that is missing."""


class ReadingGroup:
    """Readings of one test point in one run that looked at the same components."""

    __slots__ = (
        "chance",
        "covered",
        "detects",
        "event",
        "fails",
        "passes",
        "run",
        "shown",
        "source",
        "symptom_group",
        "test_point",
    )

    def __init__(
        self, factor: Factor, test_point: TestPoint, parameters: CorrelationParameters
    ) -> None:
        self.test_point = test_point
        state = factor.state
        self.source: TestPoint = test_point if state is None else (state.name, state.at)
        """What its false alarms come from: the check itself, or a hidden state others share."""
        self.symptom_group = factor.symptom_group or test_point[0]
        self.run = factor.run
        self.event = factor.event
        stays = 0.0 if state is not None else _stays(factor, parameters)
        passing = max(_RAREST, (factor.false_alarm - stays) / (1.0 - stays))
        self.chance = min(MAX_ALARM, passing / factor.strength)
        """Of a false alarm that does not stay, of this size."""
        alone = FINDING_SHOWS if factor.finding else 1.0
        self.shown = alone if state is None else state.repeats
        """Chance to fail where what its false alarms come from is there."""
        misses = zip(factor.members, factor.misses, strict=True)
        self.detects = {number: 1.0 - miss for number, miss in misses}
        """Component -> chance to show in a run in which it acts."""
        self.fails = factor.fails
        self.passes = factor.passes
        self.covered = factor.covered
        """Share of the faults that it could show by what it looked at."""

    def miss_probability(self, rates: Mapping[int, float]) -> float:
        """Chance that no fault shows; ``rates``: fault -> chance that it can be seen at all."""
        value = 1.0
        for number, rate in rates.items():
            detect = self.detects.get(number)
            if detect is not None:
                value *= max(0.0, 1.0 - self.covered * detect / rate)
        return value

    def ratio(self, rates: Mapping[int, float], alarm: float | None = None) -> float:
        """Likelihood ratio of its readings against no fault; ``alarm``: in place of its chance."""
        miss_probability = self.miss_probability(rates)
        value: float = miss_probability**self.passes
        if self.fails and miss_probability < 1.0:
            chance = self.chance if alarm is None else alarm
            exponent = self.fails * log((1.0 - (1.0 - chance) * miss_probability) / chance)
            value *= exp(min(exponent, _HUGE))
        return value

    def spread(self, known: Mapping[int, Sequence[FaultMode]], beside: float | None) -> None:
        """Give each mode of a component its own chance in place of the component's."""
        detects = {}
        for number, detect in self.detects.items():
            if number in known:
                for mode in filter(self.is_covered_by, known[number]):
                    detects[mode.number] = mode.detect(self.symptom_group, detect, beside)
            else:
                detects[number] = detect
        self.detects = detects

    def is_covered_by(self, mode: FaultMode) -> bool:
        """Whether a fault was there in this run."""
        return mode.covers(self.run)

    def copy(self) -> ReadingGroup:
        """One whose counts can be added to."""
        return copy(self)


class Readings:
    """All readings, and what holds for each component, symptom group and test point.

    A detect is made of three chances: that the symptom group can see this very fault, that the
    check can see it then, and that it shows in one run then. The first is the group's best
    detect to the power ``CorrelationParameters.symptom_group``; of what is left ``repeated_check``
    is the second's.
    """

    def __init__(
        self,
        factors: Sequence[Factor],
        parameters: CorrelationParameters,
        ways: Ways = ONE_WAY,
    ) -> None:
        self.parameters = parameters
        self.groups = tuple(_groups(factors, parameters))
        seen = frozenset(group.symptom_group for group in self.groups)
        self.fault_modes = fault_modes(ways, seen)
        """Component -> the ways it can be at fault, when there are several."""
        self.owner = {mode.number: own for own, some in self.fault_modes.items() for mode in some}
        self.beside: dict[str, float] = {}
        """Check -> the surest that it shows a fault of a component with one mode."""
        if self.fault_modes:
            self._spread()
        self.touched = frozenset(n for group in self.groups for n in group.detects)
        self._of_group: dict[tuple[str, int], float] = {}
        self._check: dict[tuple[str, int], float] = {}
        for group in self.groups:
            for number, detect in group.detects.items():
                own, check = (group.symptom_group, number), (group.test_point[0], number)
                self._of_group[own] = max(self._of_group.get(own, 0.0), detect)
                self._check[check] = max(self._check.get(check, 0.0), detect)
        self.false_alarms = _false_alarms(factors, self.groups, parameters)
        """By what they come from."""
        self.of_states = frozenset(g.symptom_group for g in self.groups if g.source != g.test_point)
        """Symptom groups that a hidden state of a sound machine shows in, too."""
        self.failing = self.explained()
        self._near: dict[int, set[int]] = {}
        for some in self.failing.values():
            for members in some:
                for number in members:
                    self._near.setdefault(number, set()).update(members - {number})

    def _spread(self) -> None:
        """Give each mode its own chances to be shown."""
        for group in self.groups:
            name = group.test_point[0]
            plain = [d for n, d in group.detects.items() if n not in self.fault_modes]
            if plain:
                self.beside[name] = max(self.beside.get(name, 0.0), *plain)
        for group in self.groups:
            group.spread(self.fault_modes, self.beside.get(group.test_point[0]))

    def visible(self, symptom_group: str, number: int, detect: float = 0.0) -> float:
        """Chance that a symptom group can see the fault at all."""
        best = max(self._of_group.get((symptom_group, number), 0.0), detect)
        chance: float = best**self.parameters.symptom_group
        return chance

    def sees(self, symptom_group: str, check: str, number: int, detect: float = 0.0) -> float:
        """Chance that a check can see the fault, when its symptom group can."""
        share = self.share(symptom_group, check, number, detect)
        return float(share**self.parameters.repeated_check)

    def share(self, symptom_group: str, check: str, number: int, detect: float = 0.0) -> float:
        """Chance that a check shows the fault in one run, when its symptom group can see it."""
        best = max(self._check.get((check, number), 0.0), detect)
        return best / (self.visible(symptom_group, number, detect) or 1.0)

    def split_coupled(self, members: Members) -> tuple[Members, Members]:
        """The others, and the last member with all that shares a failure with it, however far.

        No failure could come from both sides, so that what the readings say of one side
        does not depend on the other.
        """
        last = members[-1]
        if last not in self._near or self._near[last].isdisjoint(members):
            return members[:-1], (last,)
        coupled, further = {last}, [last]
        while further:
            found = self._near[further.pop()].intersection(members) - coupled
            coupled |= found
            further += found
        return (
            tuple(number for number in members if number not in coupled),
            tuple(number for number in members if number in coupled),
        )

    def explained(self) -> dict[str, list[frozenset[int]]]:
        """For each symptom group the sets of components that could explain the same failures.

        Those of one failing group; and of all failing groups of one source of false alarms that
        may stay, as that would explain them all at once.
        """
        found: dict[str, list[frozenset[int]]] = {}
        stuck: dict[TestPoint, frozenset[int]] = {}
        for group in self.groups:
            if not group.fails:
                continue
            members = frozenset(group.detects)
            if self.false_alarms[group.source].open:
                known = stuck.get(group.source, frozenset())
                stuck[group.source] = members = members | known
            found.setdefault(group.symptom_group, []).append(members)
        return found


def _groups(factors: Sequence[Factor], parameters: CorrelationParameters) -> Iterator[ReadingGroup]:
    for number, factor in enumerate(factors):
        # A factor that names no check stands for itself.
        yield ReadingGroup(factor, (factor.check or f"#{number}", factor.read_at), parameters)


def _stays(factor: Factor, parameters: CorrelationParameters) -> float:
    """Chance of a false alarm that comes back in every run."""
    share = parameters.persistent_findings if factor.finding else parameters.persistent_alarms
    return 0.0 if factor.event else share * factor.false_alarm * factor.habit


def _false_alarms(
    factors: Sequence[Factor], groups: Sequence[ReadingGroup], parameters: CorrelationParameters
) -> dict[TestPoint, FalseAlarm]:
    """What is known of each source of false alarms."""
    sources: dict[TestPoint, dict[TestPoint, list[ReadingGroup]]] = {}
    of: dict[TestPoint, Factor] = {}
    for factor, group in zip(factors, groups, strict=True):
        # A part that was moved is read at one test point, and its states stay where they are.
        check, own = group.test_point
        point = (check, own if factor.state is None else factor.state.point)
        sources.setdefault(group.source, {}).setdefault(point, []).append(group)
        of[point] = factor
    found: dict[TestPoint, FalseAlarm] = {}
    for source, points in sources.items():
        first = of[next(iter(points))]
        if not first.finding:
            for some in points.values():
                _now_and_then(some)
        shares = (_stays(first, parameters),) if first.state is None else first.state.shares
        rows = [
            (some, (1.0,) if (state := of[at].state) is None else state.shows)
            for at, some in points.items()
        ]
        alone = () if first.state is None else _standing(factors, groups, source, parameters)
        found[source] = FalseAlarm(shares, rows, tuple(alone))
    return found


def _standing(
    factors: Sequence[Factor],
    groups: Sequence[ReadingGroup],
    source: TestPoint,
    parameters: CorrelationParameters,
) -> Iterator[StandingAlarm]:
    """False alarms that stay at one test point of those that a hidden state may show at."""
    own: dict[TestPoint, list[ReadingGroup]] = {}
    share: dict[TestPoint, float] = {}
    for factor, group in zip(factors, groups, strict=True):
        if group.source == source:
            own.setdefault(group.test_point, []).append(group)
            share[group.test_point] = _stays(factor, parameters)
    for point, some in own.items():
        if share[point] > 0.0 and any(group.fails for group in some):
            yield StandingAlarm(share[point], some, _how_often(some, 1.0))


def _now_and_then(groups: Sequence[ReadingGroup]) -> None:
    """How often what makes a check of a sound machine fail is there: as often as it was seen."""
    often = _how_often(groups, groups[0].shown)
    for group in groups:
        group.shown = often


def _how_often(groups: Sequence[ReadingGroup], shown: float) -> float:
    """The likeliest of some rates; ``shown``: the one where it never rests."""
    fails, passes = sum(g.fails for g in groups), sum(g.passes for g in groups)
    rates = (shown, MOSTLY) if _ALWAYS < shown < 1.0 else (shown, NOW_AND_THEN, MOSTLY)
    return max(rates, key=lambda rate: rate**fails * (1.0 - rate) ** passes)
