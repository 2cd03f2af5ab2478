"""Touchpad and touchscreen: the surface as cells, filled by the finger's trace.

Event codes: include/uapi/linux/input-event-codes.h; slots and tracking ids:
Documentation/input/multi-touch-protocol.rst.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck.guided.ending import Basis, ended, not_judged, reading
from livecheck.guided.events import Answered, Event, Ranges, Tick
from livecheck.guided.input_codes import Abs, Button, EventType, Syn
from livecheck.guided.one_check import OneCheck
from livecheck.guided.rows import GuideOffer
from livecheck.guided.sights import Input
from livecheck.guided.steps import DONE, Act, Choice, GuideStep, Trace, Watch
from livecheck.records import InputFacts, Knowledge, Outcome
from livecheck.wording import text

ROWS: Final = 6
COLUMNS: Final = 10

END: Final = (Choice(value=DONE, title="Judge what was touched", key="j"),)


class Finger(msgspec.Struct):
    """One contact of the multitouch protocol, or the only one there is."""

    down: bool = False
    x: int | None = None
    y: int | None = None
    last: tuple[float, float] | None = None
    """Where its last report was, as shares of the surface."""


class Pad(OneCheck):
    """Collects touches until enough of the surface was touched, or the technician ends it."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        super().__init__(offer, knowledge)
        limits = self._limits
        self._enough, self._jump = limits["coverage"], limits["jump"]
        self._most_jumps, self._idle = limits["jumps"], limits["idle_seconds"]
        self._cells = [[False] * COLUMNS for _ in range(ROWS)]
        self._at: tuple[int, int] | None = None
        self._ranges: Ranges | None = None
        self._fingers: dict[int, Finger] = {}
        self._slot = 0
        self._jumps = 0
        self._pressed = False
        self._lost = False
        self._last: float | None = None
        act = Act(kind="range", number=1, path=self._target.path or "")
        self._step = GuideStep(lines=self._row.lines, act=act)

    def _on(self, event: Event) -> None:
        if isinstance(event, Ranges):
            self._begin(event)
        elif self._ranges is not None:
            self._follow(event)

    def _follow(self, event: Event) -> None:
        if isinstance(event, Answered) and event.value == DONE:
            self._step = self._judged()
        elif isinstance(event, Input):
            self._last = event.seconds
            self._input(event)
            if event.kind == EventType.SYN:
                over = self._share() >= self._enough and (self._pressed or not self._has_button())
                self._step = self._judged() if over else self._touching()
        elif isinstance(event, Tick):
            self._last = event.seconds if self._last is None else self._last
            if event.seconds - self._last >= self._idle:
                self._step = self._judged()

    def _begin(self, ranges: Ranges) -> None:
        if not ranges.x or not ranges.y or ranges.x[0] >= ranges.x[1] or ranges.y[0] >= ranges.y[1]:
            why = "the kernel does not say how far its axes reach"
            self._step = ended(not_judged(self._row, self._target, why))
            return
        self._ranges = ranges
        self._step = self._touching()

    def _has_button(self) -> bool:
        told = self._target.facts
        return isinstance(told, InputFacts) and told.kind == "touchpad"

    # --- Events

    def _input(self, event: Input) -> None:
        finger = self._fingers.setdefault(self._slot, Finger())
        if event.kind == EventType.SYN:
            if event.code == Syn.DROPPED:
                self._lost = True
            elif event.code == Syn.REPORT:
                self._report()
        elif event.kind == EventType.KEY and event.code == Button.TOUCH and not self._multitouch():
            finger.down = bool(event.value)
        elif event.kind == EventType.KEY and event.code == Button.LEFT:
            self._pressed = self._pressed or bool(event.value)
        elif event.kind == EventType.ABS:
            self._axis(event.code, event.value, finger)

    def _multitouch(self) -> bool:
        return self._ranges is not None and self._ranges.multitouch

    def _axis(self, code: int, value: int, finger: Finger) -> None:
        if not self._multitouch():
            if code == Abs.X:
                finger.x = value
            elif code == Abs.Y:
                finger.y = value
        elif code == Abs.MT_SLOT:
            self._slot = value
        elif code == Abs.MT_TRACKING_ID:
            finger.down, finger.last = value >= 0, None
        elif code == Abs.MT_X:
            finger.x = value
        elif code == Abs.MT_Y:
            finger.y = value

    def _report(self) -> None:
        """All of one moment is told: mark where the fingers are, and the way to there."""
        lost, self._lost = self._lost, False
        for finger in self._fingers.values():
            if not finger.down or finger.x is None or finger.y is None:
                finger.last = None
                continue
            now = self._place(finger.x, finger.y)
            before = finger.last if finger.last is not None and not lost else now
            distance = max(abs(now[0] - before[0]), abs(now[1] - before[1]))
            if distance > self._jump:
                self._jumps += 1
                before = now
            for x, y in _way(before, now):
                self._mark(x, y)
            finger.last = now

    def _place(self, x: int, y: int) -> tuple[float, float]:
        assert self._ranges is not None
        assert self._ranges.x is not None
        assert self._ranges.y is not None
        return _share(x, self._ranges.x), _share(y, self._ranges.y)

    def _mark(self, x: float, y: float) -> None:
        self._at = (min(ROWS - 1, int(y * ROWS)), min(COLUMNS - 1, int(x * COLUMNS)))
        self._cells[self._at[0]][self._at[1]] = True

    # --- Steps

    def _share(self) -> float:
        return sum(map(sum, self._cells)) / (ROWS * COLUMNS)

    def _touching(self) -> GuideStep:
        share = self._share()
        return GuideStep(
            lines=(*self._row.lines, text("guide-says.touched", share=f"{share:.0%}")),
            progress=min(1.0, share / self._enough),
            picture=Trace(cells=tuple(map(tuple, self._cells)), finger=self._at),
            choices=END,
            watch=(Watch(kind="input", path=self._target.path or ""),),
            tick=1.0,
        )

    def _judged(self) -> GuideStep:
        share = self._share()
        faults = []
        if share < self._enough:
            faults.append(f"{1 - share:.0%} of the surface took no touch")
        if self._jumps > self._most_jumps:
            faults.append(f"the finger's place jumped {self._jumps} times")
        if self._has_button() and not self._pressed:
            faults.append("its button was not felt")
        row = self._row
        if not any(map(any, self._cells)) and not self._pressed:
            faults = ["it took no touch at all"]
        says = row.failed.format(faults="; ".join(faults)) if faults else row.passed
        return ended(
            reading(
                row,
                self._target,
                Outcome.FAILED if faults else Outcome.PASSED,
                says,
                Basis(
                    value=round(share * 100),
                    unit="percent",
                    details=["".join("#" if c else "." for c in cells) for cells in self._cells],
                ),
            )
        )


def _share(value: int, span: tuple[int, int]) -> float:
    return min(1.0, max(0.0, (value - span[0]) / (span[1] - span[0])))


def _way(a: tuple[float, float], b: tuple[float, float]) -> Iterator[tuple[float, float]]:
    """Points from a to b, closer together than a cell is wide."""
    steps = max(1, int(max(abs(b[0] - a[0]) * COLUMNS, abs(b[1] - a[1]) * ROWS) * 2))
    for n in range(steps + 1):
        part = n / steps
        yield a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part
