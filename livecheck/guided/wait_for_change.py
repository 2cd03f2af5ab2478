"""Checks that wait for one thing to change: lid, network cable, sensors, the clock."""

from __future__ import annotations

from typing import Final

from livecheck.guided.ending import YES_NO, Basis, ended, not_judged, reading
from livecheck.guided.events import Acted, Answered, Event
from livecheck.guided.one_check import OneCheck
from livecheck.guided.rows import GuideOffer
from livecheck.guided.sights import ClockSeen, LidSeen, LinkSeen, SensorSeen
from livecheck.guided.steps import NO, YES, Act, Choice, GuideStep, Watch
from livecheck.records import Knowledge, Outcome
from livecheck.wording import moment, text

NOTHING: Final = (Choice(value=NO, title="Done, and nothing changes here", key="n"),)


class Waiting(OneCheck):
    """What they have in common: one thing watched, a way out, a skip."""

    kind = ""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        super().__init__(offer, knowledge)
        self._step = self._waiting()

    def _on(self, event: Event) -> None:
        if isinstance(event, Answered):
            self._answered(event.value)
        else:
            self._seen(event)

    def _answered(self, value: str) -> None:
        if value == NO:
            self._fail(self._row.failed, by="answered")

    def _seen(self, event: Event) -> None:
        raise NotImplementedError

    def _waiting(self, *more: str) -> GuideStep:
        watch = Watch(kind=self.kind, path=self._target.path or "")
        return GuideStep(lines=(*self._row.lines, *more), choices=NOTHING, watch=(watch,), tick=0.5)

    def _pass(self, says: str, value: str | float | None = None, unit: str | None = None) -> None:
        self._step = ended(
            reading(self._row, self._target, Outcome.PASSED, says, Basis(value=value, unit=unit))
        )

    def _fail(self, says: str, *, value: str | float | None = None, by: str = "measured") -> None:
        self._step = ended(
            reading(self._row, self._target, Outcome.FAILED, says, Basis(value=value, by=by))
        )


class Lid(Waiting):
    """Closed and opened again."""

    kind = "lid"
    _closed = False

    def _seen(self, event: Event) -> None:
        if not isinstance(event, LidSeen):
            return
        if event.open is False and not self._closed:
            self._closed = True
            self._step = self._waiting(text("guide-says.closed"))
        elif event.open and self._closed:
            self._pass(self._row.passed)


class Cable(Waiting):
    """A cable to a switch that works: carrier, speed, errors over a few seconds."""

    kind = "link"
    _first: LinkSeen | None = None

    def _waiting(self, *more: str) -> GuideStep:
        step = super()._waiting(*more)
        # Without its interface switched on, a port senses no cable.
        act = Act(kind="up", number=1, path=self._target.path or "",
                  device=self._target.device or "")  # fmt: skip
        return GuideStep(lines=step.lines, choices=step.choices, watch=step.watch, tick=step.tick,
                    act=act)  # fmt: skip

    def _seen(self, event: Event) -> None:
        if isinstance(event, Acted) and event.why_not:
            self._step = ended(not_judged(self._row, self._target, event.why_not))
        if not isinstance(event, LinkSeen):
            return
        if not event.carrier:
            lost = self._first is not None
            self._first = None
            self._step = self._waiting(text("guide-says.link-gone")) if lost else self._step
        elif self._first is None:
            self._first = event
            self._step = self._waiting(text("guide-says.link-found"))
        elif event.seconds - self._first.seconds >= self._limits["seconds"]:
            self._judge(self._first, event)

    def _judge(self, first: LinkSeen, last: LinkSeen) -> None:
        errors = (last.errors or 0) - (first.errors or 0)
        speed = last.speed if last.speed and last.speed > 0 else None
        if errors > self._limits["errors"]:
            self._fail(f"The link came up, and counted {errors} errors while it stood idle.",
                       value=errors)  # fmt: skip
        else:
            said = f"{speed} Mbit/s, {last.duplex} duplex" if speed else "an unknown speed"
            self._pass(self._row.passed.format(speed=said), speed, "Mbit/s")


class Sensor(Waiting):
    """Moved, covered or lit: its values have to follow."""

    kind = "sensor"

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        super().__init__(offer, knowledge)
        self._spans: dict[str, tuple[float, float]] = {}

    def _seen(self, event: Event) -> None:
        if not isinstance(event, SensorSeen):
            return
        for name, value in event.values.items():
            least, most = self._spans.get(name, (value, value))
            least, most = self._spans[name] = min(least, value), max(most, value)
            size = max(abs(least), abs(most))
            if most - least >= max(self._limits["share"] * size, self._limits["least"]):
                self._pass(self._row.passed.format(channel=name), round(most - least, 3))
                return


class Clock(Waiting):
    """Whether the hardware clock runs, and shows the right time."""

    kind = "clock"
    _first: ClockSeen | None = None
    _asked = False

    def _waiting(self, *more: str) -> GuideStep:
        step = super()._waiting(*more)
        return GuideStep(lines=step.lines, watch=step.watch, tick=step.tick)

    def _seen(self, event: Event) -> None:
        if not isinstance(event, ClockSeen) or self._asked:
            return
        if event.epoch is None:
            self._step = ended(not_judged(self._row, self._target, "the clock cannot be read"))
            return
        self._first = self._first or event
        gone = event.seconds - self._first.seconds
        if gone < self._limits["seconds"]:
            return
        shown = event.epoch - (self._first.epoch or 0)
        # Both are whole seconds read at some moment of the second.
        if abs(shown - gone) > self._limits["slack_seconds"]:
            self._fail(f"The clock went on by {shown} s while {gone:.0f} s passed.", value=shown)
            return
        self._asked = True
        now = moment(_iso(event.epoch))
        self._step = GuideStep(lines=(text("guide-says.clock", now=now),),
                          question=self._row.asks, choices=YES_NO)  # fmt: skip

    def _answered(self, value: str) -> None:
        if self._asked and value == YES:
            self._pass(self._row.passed)
        elif self._asked and value == NO:
            self._fail(self._row.failed, by="answered")


def _iso(epoch: int) -> str:
    from datetime import UTC, datetime

    return datetime.fromtimestamp(epoch, UTC).isoformat(timespec="seconds")
