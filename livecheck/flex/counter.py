"""Counting losses from looks at whether power comes in. Pure.

Looks come at moments, not without a break. A loss is seen when at least one look falls into
it; so every loss longer than the longest gap between two looks was seen, and of shorter
ones a share. That gap is measured, not assumed.
"""

from __future__ import annotations

from typing import Final

from livecheck.records import Record

NEWS_SECONDS: Final = 0.3
"""How late the firmware may tell of a loss that looks have seen already (assumed)."""


class Loss(Record, frozen=True, kw_only=True):
    """One time without power."""

    start: float
    """Seconds since the watch began: first look that found no power."""
    seconds: float
    """Until the first look that found power again, or until now."""
    uncertain: float
    """Seconds by which it may have been longer: the gap before its first look."""
    over: bool = True
    """False: power has not come back."""


class FlexResult(Record, frozen=True, kw_only=True):
    """What a watch saw."""

    supply: str
    """Kernel name of the jack."""
    seconds: float
    looks: int
    losses: tuple[Loss, ...]
    longest_gap: float
    """Seconds between two looks, the longest: every longer loss was seen."""
    usual_gap: float
    """The same, the middle one."""
    fed_at_start: bool | None
    events: int = 0
    """Changes the firmware told of by itself."""
    label: str | None = None
    """What the technician calls the adapter."""

    @property
    def count(self) -> int:
        """How many losses there were."""
        return len(self.losses)


class Counter:
    """Takes looks in order of time."""

    def __init__(self, supply: str) -> None:
        self._supply = supply
        self._begun: float | None = None
        self._before = 0.0
        self._fed: bool | None = None
        self._first: bool | None = None
        self._losses: list[Loss] = []
        self._gaps: dict[int, int] = {}
        """Gap in tenths of a millisecond -> how often."""
        self._longest = 0.0
        self._looks = 0
        self._events = 0

    def look(self, seconds: float, fed: bool | None) -> bool:
        """One look at a time on the caller's clock; True when something changed.

        ``fed`` None: could not be read, which says nothing of power.
        """
        if fed is None:
            return False
        if self._begun is None:
            self._begun = self._before = seconds
            self._first = fed
        gap, now = seconds - self._before, seconds - self._begun
        if self._looks:
            self._longest = max(self._longest, gap)
            tenths = round(gap * 1e4)
            self._gaps[tenths] = self._gaps.get(tenths, 0) + 1
        self._looks += 1
        changed = fed != self._fed
        if changed and not fed:
            self._losses.append(Loss(start=now, seconds=0.0, uncertain=gap, over=False))
        elif self._losses and not self._losses[-1].over:
            last = self._losses[-1]
            self._losses[-1] = Loss(
                start=last.start, seconds=now - last.start, uncertain=last.uncertain, over=fed
            )
        self._fed, self._before = fed, seconds
        return changed

    def told(self, seconds: float, fed: bool) -> bool:
        """The firmware told of a change by itself; True when it was news.

        Such news comes late: one of a loss that was looked at already is none.
        """
        self._events += 1
        if fed or self._begun is None or self._fed is False:
            return False
        now = seconds - self._begun
        if self._losses and now - self._losses[-1].start - self._losses[-1].seconds < NEWS_SECONDS:
            return False
        gap = seconds - self._before
        self._losses.append(Loss(start=now, seconds=0.0, uncertain=gap, over=False))
        self._fed = False
        return True

    @property
    def lost(self) -> bool:
        """Whether there is no power now."""
        return self._fed is False

    def result(self, label: str | None = None) -> FlexResult:
        """Everything so far. A loss that the watch began in is none: nothing was lost."""
        losses = tuple(self._losses)
        if self._first is False and losses:
            losses = losses[1:]
        return FlexResult(
            supply=self._supply,
            seconds=self._before - (self._begun if self._begun is not None else self._before),
            looks=self._looks,
            losses=losses,
            longest_gap=self._longest,
            usual_gap=self._usual(),
            fed_at_start=self._first,
            events=self._events,
            label=label,
        )

    def _usual(self) -> float:
        half, seen = sum(self._gaps.values()) / 2, 0
        for tenths, times in sorted(self._gaps.items()):
            seen += times
            if seen >= half:
                return tenths / 1e4
        return 0.0
