"""What a fault that comes and goes shows when it acts: mostly what it has shown before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final, NamedTuple

from livecheck.diagnosis.model.evidence import ReadingGroup, Readings

SURE: Final = 1e200
"""A ratio of likelihoods beyond which nothing changes."""


class Showing:
    """How readily one symptom group, which may see it, shows one fault by the runs so far.

    Of the chance that the group sees it, the part to the power ``shows_again`` is the same in all
    runs, and so of each check's chance within the group; the rest is new in each run.
    Assumed-density filtering: after each run only the chances are kept (Minka, 2001, from memory).
    """

    def __init__(self, readings: Readings, symptom_group: str, number: int) -> None:
        self._readings = readings
        self._symptom_group = symptom_group
        self._number = number
        self._visible = readings.visible(symptom_group, number)
        self._can: float = self._visible**readings.parameters.shows_again
        self._now = self._visible / self._can
        self._first: dict[str, float] = {}
        self._sees: dict[str, float] = {}

    @property
    def shows(self) -> float:
        """Chance that the group sees it in the next run that it acts in."""
        chance: float = self._can * self._now
        return chance

    def again(self, check: str) -> float:
        """Factor on a check's detect by what it has shown and not shown so far."""
        return self._sees[check] / self._first[check] if self._sees.get(check) else 1.0

    def take(self, groups: Iterable[ReadingGroup]) -> RunSays:
        """Give the readings of a run the chances to show it that hold for that run."""
        sees, together = dict(self._sees), 1.0
        for group in groups:
            check, _ = group.test_point
            if check not in self._first:
                share = self._readings.share(self._symptom_group, check, self._number)
                first = share**self._readings.parameters.shows_again
                self._first[check] = self._sees[check] = sees[check] = first
            first = self._first[check] or 1.0
            detect = group.detects[self._number] * sees[check] / first
            group.detects = {**group.detects, self._number: min(self._visible, detect)}
            ratio = group.ratio({self._number: self._visible})
            together = min(SURE, together * ratio)
            # A check that cannot see it reads as without fault.
            sees[check] = max(0.0, 1.0 - (1.0 - sees[check]) / ratio) if ratio > 0.0 else 0.0
        return RunSays(self, sees, together, 1.0 - self.shows + self.shows * together)

    def keep(self, told: RunSays, acts: float) -> None:
        """Bayes' rule, after a run in which it acted with this chance."""
        seen = acts * self.shows * told.together / told.ratio if told.ratio > 0.0 else 0.0
        could = self._can * (1.0 - self._now + self._now * told.together)
        both = 1.0 - self._can + could
        self._can += acts * (could / both - self._can) if both > 0.0 else 0.0
        for check, here in told.sees.items():
            self._sees[check] += seen * (here - self._sees[check])


class RunSays(NamedTuple):
    """What a run's readings say of a fault that acts in it."""

    showing: Showing
    sees: Mapping[str, float]
    """Check -> chance that it can see it, where the group does in this run."""
    together: float
    """How much likelier they are where the group sees it."""
    ratio: float
    """How much likelier with the fault than without."""
