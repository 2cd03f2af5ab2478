"""The screen lead while the lid moves: errors of the panel's link against time.

The errors are those that the panel counts, so a lead that breaks for a moment is seen although
the picture hardly shows it. When they come is the lid's angle: nothing here measures it.
"""

from __future__ import annotations

from typing import Final

from livecheck.guided.ending import Basis, ended, not_judged, reading
from livecheck.guided.events import Answered, Event
from livecheck.guided.one_check import OneCheck
from livecheck.guided.rows import GuideOffer
from livecheck.guided.sights import ScreenLinkSeen
from livecheck.guided.steps import DONE, Choice, GuideStep, Watch
from livecheck.records import Knowledge, Outcome, Record
from livecheck.wording import text

STOP: Final = (Choice(value=DONE, title="Done", key="d"),)
SHOWN: Final = 24
"""Times kept with the reading."""


class Break(Record, frozen=True, kw_only=True):
    """A time in which the link did not hold."""

    start: float
    end: float
    """Seconds since the watch began."""
    errors: int
    trouble: str = ""

    @property
    def words(self) -> str:
        """``at 12.5 s for 1.0 s: 340 errors, lane 1: symbol lock``."""
        seconds = max(0.0, self.end - self.start)
        counted = f"{self.errors} errors" if self.errors else ""
        what = ", ".join(words for words in (counted, self.trouble) if words)
        return f"at {self.start:.1f} s for {seconds:.1f} s: {what}"


class Hinge(OneCheck):
    """Watches for a while, tells at once when the link breaks, ends by time or by word."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        super().__init__(offer, knowledge)
        self._begun: float | None = None
        self._last: ScreenLinkSeen | None = None
        self._breaks: list[Break] = []
        self._broken = False
        self._live = 0.0
        """Seconds in which the link carried the picture."""
        self._step = self._watching()

    def _on(self, event: Event) -> None:
        if isinstance(event, Answered) and event.value == DONE:
            self._step = self._end()
        elif isinstance(event, ScreenLinkSeen):
            self._look(event)
            over = self._gone() >= self._limits["seconds"]
            self._step = self._end() if over else self._watching()

    def _look(self, seen: ScreenLinkSeen) -> None:
        if self._begun is None:
            self._begun = seen.seconds
        now, before = seen.seconds - self._begun, self._last
        self._last = seen
        if before is None or seen.unseen:
            self._broken = False
            return
        since = seen.seconds - before.seconds
        self._live += since
        bad = seen.errors > seen.allowed or seen.trouble
        if bad and self._broken:
            last = self._breaks[-1]
            self._breaks[-1] = Break(start=last.start, end=now, errors=last.errors + seen.errors,
                                     trouble=last.trouble or seen.trouble)  # fmt: skip
        elif bad:
            self._breaks.append(
                Break(start=now - since, end=now, errors=seen.errors, trouble=seen.trouble)
            )
        self._broken = bool(bad)

    def _gone(self) -> float:
        """Seconds since the first look."""
        if self._last is None or self._begun is None:
            return 0.0
        return self._last.seconds - self._begun

    def _watching(self) -> GuideStep:
        now = text("guide-says.breaks" if self._broken else "guide-says.holds")
        lines = (*self._row.lines, *((now,) if self._live else ()),
                 *(one.words for one in self._breaks[-3:]))  # fmt: skip
        watch = Watch(kind="screen-link", path=self._target.device or "")
        return GuideStep(lines=lines, choices=STOP, watch=(watch,), tick=0.5,
                         progress=min(1.0, self._gone() / self._limits["seconds"]))  # fmt: skip

    def _end(self) -> GuideStep:
        row, target = self._row, self._target
        if self._breaks:
            details = tuple(one.words for one in self._breaks[:SHOWN])
            says = row.failed.format(times=len(self._breaks), seconds=f"{self._live:.0f}",
                                     first=self._breaks[0].words)  # fmt: skip
            basis = Basis(value=len(self._breaks), unit="times", details=details)
            return ended(reading(row, target, Outcome.FAILED, says, basis))
        if self._live < self._limits["least_seconds"]:
            why = f"the link was seen for {self._live:.0f} s only: the panel did not answer, or " \
                "showed its own memory's picture"  # fmt: skip
            return ended(not_judged(row, target, why))
        says = row.passed.format(seconds=f"{self._live:.0f}")
        return ended(reading(row, target, Outcome.PASSED, says, Basis(value=0, unit="times")))
