"""Failures with nothing at fault: of one check by itself, or of several by a hidden state.

Some false alarms stay: they come back in every run. And some of them come together: a thin
machine throttles, is hot, and its cooling answers slowly, which is one fact and not three.
Such a *hidden state* (``HiddenState``) is there or not, in one of some degrees, in all runs.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, fsum, log, log1p
from typing import Final, NamedTuple, Protocol

NEVER: Final = float("-inf")
"""Log of 0."""
MATTERS: Final = 0.2
"""A cause that explains what failed this much worse than chance does is left out."""
TestPoint = tuple[str, str]
"""(Check, where it was read)."""


class Counted(Protocol):
    """Readings that failed and passed alike."""

    test_point: TestPoint
    fails: int
    passes: int
    chance: float
    """To fail by itself."""
    shown: float
    """To fail where what its false alarms come from is there."""


PointReadings = tuple[Sequence[Counted], tuple[float, ...]]
"""All that was read at one test point; chance that what its false alarms come from shows
there, for each degree of it."""


class StandingAlarm(NamedTuple):
    """A false alarm that stays with one check where it was read."""

    share: float
    """Chance that it is there."""
    groups: Sequence[Counted]
    shown: float
    """Chance to fail in one run, where it is there."""

    def gain(self) -> float:
        """Log of the chance of its readings with it there, against without."""
        there = sum(_log_chance(group, self.shown) for group in self.groups)
        return there - _by_itself(self.groups)


def log_sum(logs: Sequence[float]) -> float:
    """Log of the sum of exponentials; of nothing but zeroes it is that of zero."""
    top = max(logs)
    if top == NEVER:
        return top
    return top + log(fsum([exp(value - top) for value in logs]))


class FalseAlarm:
    """What makes the checks of some test points fail with nothing at fault.

    It is there in all runs, and then each reading fails with the chance ``Counted.shown``; or
    it is not, and each fails by itself with ``Counted.chance``.
    """

    def __init__(
        self,
        shares: Sequence[float],
        points: Sequence[PointReadings],
        alone: Sequence[StandingAlarm] = (),
    ) -> None:
        """``shares``: chance of each degree. ``points``: all that was read, by test point.

        ``alone``: what stays with one check where it was read, whatever the others show.
        """
        self.test_points = frozenset(groups[0].test_point for groups, _ in points)
        self.fails = sum(group.fails for groups, _ in points for group in groups)
        # In logs throughout: the chance of many readings is too small for a number.
        chance = sum(_by_itself(groups) for groups, _ in points)
        self._away = log1p(-sum(shares) - sum(one.share for one in alone)) + chance
        degrees = [
            (log(share) if share > 0.0 else NEVER)
            + sum(max(_seen(groups, shows[turn])) for groups, shows in points)
            for turn, share in enumerate(shares)
        ]
        degrees += [log(one.share) + chance + one.gain() for one in alone]
        self._there = log_sum(degrees)
        likeliest = max(range(len(degrees)), key=degrees.__getitem__)
        # What it does to a check it does in every run: the likelier of the two.
        if likeliest < len(shares):
            for groups, shows in points:
                seen, unseen = _seen(groups, shows[likeliest])
                for group in groups:
                    group.shown = group.shown if seen >= unseen else group.chance
        else:
            own = alone[likeliest - len(shares)]
            for group in (group for groups, _ in points for group in groups):
                group.shown = own.shown if group in own.groups else group.chance
        self.open = self.fails > 0 and self._there > self._away + log(MATTERS)
        """Whether it may be there and matters: something failed that it would explain."""
        self.log_base = log_sum([self._away, self._there]) if self.open else self._away
        """Log of the chance of all its readings with nothing at fault."""

    def log_share(self, *, stays: bool) -> float:
        """Log of the chance that it is there, or not, given its readings and no fault."""
        return (self._there if stays else self._away) - self.log_base

    def again(self, group: Counted) -> float:
        """Chance of one more failure with nothing at fault."""
        stuck = exp(self.log_share(stays=True)) if self.open else 0.0
        return stuck * group.shown + (1.0 - stuck) * group.chance


def _by_itself(groups: Sequence[Counted]) -> float:
    """Log of the chance of a test point's readings with no cause there."""
    return sum(_log_chance(group, group.chance) for group in groups)


def _seen(groups: Sequence[Counted], shows: float) -> tuple[float, float]:
    """Log of that chance with the cause there, which shows in this check, or does not."""
    shown = (log(shows) if shows > 0.0 else NEVER) + sum(
        _log_chance(group, group.shown) for group in groups
    )
    return shown, (log1p(-shows) + _by_itself(groups) if shows < 1.0 else NEVER)


def _log_chance(group: Counted, chance: float) -> float:
    value = group.fails * log(chance) if group.fails else 0.0
    if group.passes:
        value += group.passes * log1p(-chance) if chance < 1.0 else NEVER
    return value
