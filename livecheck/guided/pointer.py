"""A pointer that tells ways and no places: a pointing stick, or a pad in its mouse's manner.

Hands off first, for a stick that pulls by itself; then all four ways and both buttons.
Event codes: include/uapi/linux/input-event-codes.h.
"""

from __future__ import annotations

from typing import Final

from livecheck.guided.ending import Basis, ended, reading
from livecheck.guided.events import Answered, Event, Tick
from livecheck.guided.input_codes import Button, EventType, Rel
from livecheck.guided.one_check import OneCheck
from livecheck.guided.rows import GuideOffer
from livecheck.guided.sights import Input
from livecheck.guided.steps import DONE, Choice, GuideStep, Watch
from livecheck.records import Knowledge, Outcome
from livecheck.worded import slug
from livecheck.wording import text

WAYS: Final[dict[tuple[int, int], str]] = {
    (Rel.X, -1): "left",
    (Rel.X, 1): "right",
    (Rel.Y, -1): "up",
    (Rel.Y, 1): "down",
}
BUTTONS: Final[dict[int, str]] = {Button.LEFT: "left button", Button.RIGHT: "right button"}
END: Final = (Choice(value=DONE, title="Judge what was felt", key="j"),)


class Pointer(OneCheck):
    """Adds up the ways until each was gone and each button pressed, or the technician ends it."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        super().__init__(offer, knowledge)
        limits = self._limits
        self._still, self._most_drift = limits["still_seconds"], limits["drift_counts"]
        self._enough, self._idle = limits["travel_counts"], limits["idle_seconds"]
        self._drift = 0
        self._gone = dict.fromkeys(WAYS.values(), 0)
        self._pressed = dict.fromkeys(BUTTONS.values(), False)
        self._held: set[str] = set()
        self._began: float | None = None
        self._last = 0.0
        self._moving = False
        self._step = self._watching(text("guide-says.hands-off"))

    def _on(self, event: Event) -> None:
        if isinstance(event, Answered) and event.value == DONE:
            self._step = self._judged()
        elif isinstance(event, Input):
            self._input(event)
            if self._moving:
                self._step = self._asking() if self._open() else self._judged()
        elif isinstance(event, Tick):
            self._passed(event.seconds)

    def _passed(self, seconds: float) -> None:
        if self._began is None:
            self._began = self._last = seconds
        if not self._moving and seconds - self._began >= self._still:
            self._moving, self._last = True, seconds
            self._step = self._asking()
        elif self._moving and seconds - self._last >= self._idle:
            self._step = self._judged()

    def _input(self, event: Input) -> None:
        if event.kind == EventType.REL and event.code in (Rel.X, Rel.Y) and event.value:
            if self._moving:
                self._gone[WAYS[event.code, 1 if event.value > 0 else -1]] += abs(event.value)
            else:
                self._drift += abs(event.value)
        elif event.kind == EventType.KEY and event.code in BUTTONS:
            name = BUTTONS[event.code]
            if event.value:
                self._held.add(name)
            elif name in self._held:
                self._held.discard(name)
                self._pressed[name] = True
        if self._moving:
            self._last = event.seconds

    # --- Steps

    def _watching(self, more: str) -> GuideStep:
        return GuideStep(
            lines=(*self._row.lines, more),
            choices=END if self._moving else (),
            watch=(Watch(kind="input", path=self._target.path or ""),),
            tick=0.5,
        )

    def _asking(self) -> GuideStep:
        open_ones = ", ".join(text(f"guide-way.{slug(one)}") for one in self._open())
        return self._watching(text("guide-says.move", left=open_ones))

    def _open(self) -> list[str]:
        ways = [way for way, far in self._gone.items() if far < self._enough]
        return ways + [name for name, done in self._pressed.items() if not done]

    def _faults(self) -> list[str]:
        faults = []
        if self._drift > self._most_drift:
            faults.append(f"it moved by itself, {self._drift} counts with no hand on it")
        faults += [f"nothing to the {way}" if way in ("left", "right") else f"nothing {way}wards"
                   for way, far in self._gone.items() if far < self._enough]  # fmt: skip
        faults += [
            f"the {name} stays down" if name in self._held else f"the {name} was not felt"
            for name, done in self._pressed.items()
            if not done
        ]
        return faults

    def _judged(self) -> GuideStep:
        faults, row = self._faults(), self._row
        if not any(self._gone.values()) and not any(self._pressed.values()) and not self._held:
            faults = [*faults[: self._drift > self._most_drift], "it gave nothing at all"]
        says = row.failed.format(faults="; ".join(faults)) if faults else row.passed
        return ended(
            reading(
                row,
                self._target,
                Outcome.FAILED if faults else Outcome.PASSED,
                says,
                Basis(
                    value=min(self._gone.values()),
                    unit="counts",
                    details=[f"{way}: {far} counts" for way, far in self._gone.items()],
                ),
            )
        )
