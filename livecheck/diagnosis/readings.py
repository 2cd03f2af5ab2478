"""The readings of a case as the likelihood sees them, and how they repeat each other.

A *spot* is one check read at one component; a false alarm may stay with it. *Kin* are
checks that look at the same events of a fault (``Check.kin``): they fail together or not
at all, so that several of them are little more than one witness.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from math import exp, fsum, log, log1p
from typing import Final

from livecheck.diagnosis.blame import Factor
from livecheck.diagnosis.modes import Form, Shares, forms
from livecheck.diagnosis.priors import Weights

Spot = tuple[str, str]
"""(Check, where it was read)."""
ACTS: Final = (0.2, 0.45, 0.75)
"""Assumed: chances to act in a run, each for a third of the faults that come and go."""

NEVER: Final = float("-inf")
"""Log of 0."""
_HUGE: Final = 300.0
"""Logs of a likelihood ratio beyond this are all the same, and would not fit a number."""

Members = tuple[int, ...]
"""Components taken to be at fault, by index, in order."""


def log_sum(logs: Sequence[float]) -> float:
    """Log of the sum of exponentials; of nothing but zeroes it is that of zero."""
    top = max(logs)
    if top == NEVER:
        return top
    return top + log(fsum([exp(value - top) for value in logs]))


class Alarm:
    """False alarms of one spot: one that stays fails the check in every run.

    ``chance`` is the table's, for one reading. Of it ``share`` stays: ``Weights.alarms``, or
    nothing where each failure is an event of its own. A pass rules that out, and a single
    failure cannot tell.
    """

    def __init__(self, chance: float, fails: int, passes: int, share: float) -> None:
        self.fails = fails
        stays = share * chance
        self.passing = (chance - stays) / (1.0 - stays)
        """Chance of one that does not stay."""
        self.stays = stays if passes == 0 and fails > 0 else 0.0
        """Chance that one stays, as far as the readings allow it."""
        # In logs throughout: the chance of many readings is too small for a number.
        passing = fails * log(self.passing) if fails else 0.0
        passing += passes * log1p(-self.passing) if passes else 0.0
        self.log_base = log_sum(
            [log1p(-stays) + passing, log(self.stays) if self.stays > 0.0 else NEVER]
        )
        """Log of the chance of all its readings with nothing at fault."""

    def log_share(self, *, stays: bool) -> float:
        """Log of the chance that the alarm stays, or that its failures are passing ones."""
        if stays:
            return log(self.stays) - self.log_base
        return log(1.0 - self.stays) + self.fails * log(self.passing) - self.log_base

    @property
    def again(self) -> float:
        """Chance of one more failure with nothing at fault."""
        stuck = exp(self.log_share(stays=True)) if self.stays > 0.0 else 0.0
        return stuck + (1.0 - stuck) * self.passing


class Group:
    """Readings of one spot in one run that exercised the same components."""

    __slots__ = ("chance", "covered", "detects", "event", "fails", "kin", "passes", "run", "spot")

    def __init__(self, factor: Factor, spot: Spot) -> None:
        self.spot = spot
        self.kin = factor.kin or spot[0]
        self.run = factor.run
        self.event = factor.event
        self.chance = factor.false_alarm
        """Of a false alarm that does not stay; set when all readings of the spot are known."""
        misses = zip(factor.members, factor.misses, strict=True)
        self.detects = {number: 1.0 - miss for number, miss in misses}
        """Component -> chance to show in a run in which it acts."""
        self.fails = factor.fails
        self.passes = factor.passes
        self.covered = factor.covered
        """Share of the faults that it could show by what it looked at."""

    def quiet(self, rates: Mapping[int, float]) -> float:
        """Chance that no fault shows; ``rates``: fault -> chance that it can be seen at all."""
        value = 1.0
        for number, rate in rates.items():
            detect = self.detects.get(number)
            if detect is not None:
                value *= max(0.0, 1.0 - self.covered * detect / rate)
        return value

    def ratio(self, rates: Mapping[int, float], alarm: float | None = None) -> float:
        """Likelihood ratio of its readings against no fault; ``alarm``: in place of its chance."""
        quiet = self.quiet(rates)
        value: float = quiet**self.passes
        if self.fails and quiet < 1.0:
            chance = self.chance if alarm is None else alarm
            exponent = self.fails * log((1.0 - (1.0 - chance) * quiet) / chance)
            value *= exp(min(exponent, _HUGE))
        return value

    def spread(self, known: Mapping[int, Sequence[Form]], beside: float | None) -> None:
        """Give each form of a component its own chance in place of the component's."""
        detects = {}
        for number, detect in self.detects.items():
            if number in known:
                for form in known[number]:
                    detects[form.number] = form.detect(self.kin, detect, beside)
            else:
                detects[number] = detect
        self.detects = detects

    def copy(self) -> Group:
        """One whose counts can be added to."""
        return copy(self)


class Readings:
    """All readings, and what holds for each component, kin and spot.

    A detect is made of three chances: that the kin can see this very fault, that the
    check can see it then, and that it shows in one run then. The first is the kin's best
    detect to the power ``Weights.kin``; of what is left ``Weights.settled`` is the second's.
    """

    def __init__(
        self, factors: Sequence[Factor], weights: Weights, modes: Sequence[Shares] = ()
    ) -> None:
        self.weights = weights
        self.groups = tuple(_groups(factors))
        self.forms = forms(modes, frozenset(group.kin for group in self.groups))
        """Component -> the ways it can be at fault, when there are several."""
        self.owner = {form.number: own for own, some in self.forms.items() for form in some}
        self.beside: dict[str, float] = {}
        """Check -> the surest that it shows a fault of a component with one form."""
        if self.forms:
            for group in self.groups:
                name = group.spot[0]
                plain = [d for n, d in group.detects.items() if n not in self.forms]
                if plain:
                    self.beside[name] = max(self.beside.get(name, 0.0), *plain)
            for group in self.groups:
                group.spread(self.forms, self.beside.get(group.spot[0]))
        self.touched = frozenset(n for group in self.groups for n in group.detects)
        self.alarms: dict[Spot, Alarm] = {}
        self._kin: dict[tuple[str, int], float] = {}
        self._check: dict[tuple[str, int], float] = {}
        fails: dict[Spot, int] = {}
        passes: dict[Spot, int] = {}
        for group in self.groups:
            fails[group.spot] = fails.get(group.spot, 0) + group.fails
            passes[group.spot] = passes.get(group.spot, 0) + group.passes
            for number, detect in group.detects.items():
                kin, check = (group.kin, number), (group.spot[0], number)
                self._kin[kin] = max(self._kin.get(kin, 0.0), detect)
                self._check[check] = max(self._check.get(check, 0.0), detect)
        for group in self.groups:
            if group.spot not in self.alarms:
                spot, chance = group.spot, group.chance
                share = 0.0 if group.event else weights.alarms
                self.alarms[spot] = Alarm(chance, fails[spot], passes[spot], share)
        for group in self.groups:
            group.chance = self.alarms[group.spot].passing
        self.failing = self.explained()
        self._near: dict[int, set[int]] = {}
        for some in self.failing.values():
            for members in some:
                for number in members:
                    self._near.setdefault(number, set()).update(members - {number})

    def visible(self, kin: str, number: int, detect: float = 0.0) -> float:
        """Chance that a kin can see the fault at all."""
        best = max(self._kin.get((kin, number), 0.0), detect)
        chance: float = best**self.weights.kin
        return chance

    def sees(self, kin: str, check: str, number: int, detect: float = 0.0) -> float:
        """Chance that a check can see the fault, when its kin can."""
        best = max(self._check.get((check, number), 0.0), detect)
        chance: float = (best / self.visible(kin, number, detect)) ** self.weights.settled
        return chance

    def apart(self, members: Members) -> tuple[Members, Members]:
        """The others, and the last member with all that shares a failure with it, however far.

        No failure could come from both sides, so that what the readings say of one side
        does not depend on the other.
        """
        last = members[-1]
        if last not in self._near or self._near[last].isdisjoint(members):
            return members[:-1], (last,)
        circle, further = {last}, [last]
        while further:
            found = self._near[further.pop()].intersection(members) - circle
            circle |= found
            further += found
        return (
            tuple(number for number in members if number not in circle),
            tuple(number for number in members if number in circle),
        )

    def explained(self) -> dict[str, list[frozenset[int]]]:
        """For each kin the sets of components that could explain the same failures.

        Those of one failing group; and of all failing groups of a spot whose alarm may stay,
        as that would explain them all at once.
        """
        found: dict[str, list[frozenset[int]]] = {}
        stuck: dict[Spot, frozenset[int]] = {}
        for group in self.groups:
            if not group.fails:
                continue
            members = frozenset(group.detects)
            if self.alarms[group.spot].stays > 0.0:
                known = stuck.get(group.spot, frozenset())
                stuck[group.spot] = members = members | known
            found.setdefault(group.kin, []).append(members)
        return found


def _groups(factors: Sequence[Factor]) -> Iterator[Group]:
    for number, factor in enumerate(factors):
        # A factor that names no check stands for itself.
        yield Group(factor, (factor.check or f"#{number}", factor.spot))
