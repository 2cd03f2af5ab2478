"""The keyboard: every key once, drawn as it is seen.

The drawing grows from the keys pressed: those every laptop has are there from the
start and must be seen; the others (number pad, media keys, a key beside the left
shift) appear when they are first pressed. Key codes are those of
include/uapi/linux/input-event-codes.h.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.guided.ending import Basis, ended, reading
from livecheck.guided.events import Answered, Event, Tick
from livecheck.guided.input_codes import EventType
from livecheck.guided.one_check import OneCheck
from livecheck.guided.rows import DrawnKey, GuideOffer
from livecheck.guided.sights import Input
from livecheck.guided.steps import AGAIN, Choice, GuideStep, Key, Keys, Watch
from livecheck.records import Knowledge, Outcome, Reading
from livecheck.wording import text

ESC: Final = 1
ESCAPES: Final = 3
"""Presses of Esc, one after the other, that end the check early."""
FIRST_BUTTON: Final = 0x100
"""From BTN_MISC on the codes are buttons of mice and pads, not keys."""

LEFT_OVER: Final = (
    Choice(value="dead", title="They are there and do nothing", key="d"),
    Choice(value="absent", title="This keyboard has no such keys", key="k"),
    Choice(value=AGAIN, title="Go on pressing", key="g"),
)


class Pressed(msgspec.Struct):
    """What was seen of one key."""

    down_at: float | None = None
    up_at: float | None = None
    times: int = 0
    bounces: int = 0


class Keyboard(OneCheck):
    """Collects key events until every core key was seen, or the technician ends it."""

    def __init__(
        self, offer: GuideOffer, knowledge: Knowledge, rows: Sequence[Sequence[DrawnKey]]
    ) -> None:
        super().__init__(offer, knowledge)
        limits = self._limits
        self._bounce, self._often = limits["bounce_seconds"], limits["bounces"]
        self._stuck, self._idle = limits["stuck_seconds"], limits["idle_seconds"]
        self._rows = rows
        self._seen: dict[int, Pressed] = {}
        self._escapes = 0
        self._now = 0.0
        self._last: float | None = None
        self._step = self._pressing()

    def _on(self, event: Event) -> None:
        if isinstance(event, Answered):
            self._answered(event.value)
        elif self._step.question is None:
            if (
                isinstance(event, Input)
                and event.kind == EventType.KEY
                and event.code < FIRST_BUTTON
            ):
                self._key(event)
            elif isinstance(event, Tick):
                self._time(event.seconds)

    def _key(self, event: Input) -> None:
        self._now = self._last = event.seconds
        key = self._seen.setdefault(event.code, Pressed())
        if event.value == 1:
            key.times += 1
            key.down_at = event.seconds
            if key.up_at is not None and event.seconds - key.up_at < self._bounce:
                key.bounces += 1
            self._escapes = self._escapes + 1 if event.code == ESC else 0
        elif event.value == 0:
            key.down_at, key.up_at = None, event.seconds
        over = self._escapes >= ESCAPES and event.value == 0
        if not self._unseen() and all(k.down_at is None for k in self._seen.values()):
            self._step = self._judged(None)
        else:
            self._step = self._question() if over and self._unseen() else self._pressing()

    def _time(self, seconds: float) -> None:
        self._now = seconds
        self._last = seconds if self._last is None else self._last
        if seconds - self._last >= self._idle:
            self._step = self._question() if self._unseen() else self._judged(None)
        else:
            self._step = self._pressing()

    def _answered(self, value: str) -> None:
        if self._step.question is None:
            return
        if value == AGAIN:
            self._escapes, self._last = 0, None
            self._step = self._pressing()
        elif value in ("dead", "absent"):
            self._step = self._judged(value)

    # --- Steps

    def _unseen(self) -> list[DrawnKey]:
        return [k for row in self._rows for k in row
                if k.core and not self._pressed(k.code)]  # fmt: skip

    def _pressed(self, code: int) -> int:
        key = self._seen.get(code)
        return key.times if key is not None else 0

    def _pressing(self) -> GuideStep:
        core = [k for row in self._rows for k in row if k.core]
        seen = len(core) - len(self._unseen())
        watch = Watch(kind="input", path=self._target.path or "", alone=True)
        return GuideStep(
            lines=(*self._row.lines, text("guide-says.keys", seen=seen, of=len(core))),
            progress=seen / len(core),
            picture=Keys(keys=tuple(self._drawing())),
            watch=(watch,),
            tick=1.0,
        )

    def _question(self) -> GuideStep:
        labels = ", ".join(k.label for k in self._unseen())
        return GuideStep(
            lines=(text("guide-says.unseen", labels=labels),),
            question=self._row.asks,
            choices=LEFT_OVER,
            picture=Keys(keys=tuple(self._drawing())),
        )

    def _drawing(self) -> list[Key]:
        keys: list[Key] = []
        known: set[int] = set()
        for number, row in enumerate(self._rows):
            left = 0.0
            for k in row:
                known.add(k.code)
                if k.core or k.code in self._seen:
                    keys.append(Key(code=k.code, label=k.label, row=number, left=left,
                                    width=k.width, state=self._state(k.code)))  # fmt: skip
                left += k.width
        others = sorted(set(self._seen) - known)
        keys += [
            Key(code=code, label=f"key {code}", row=len(self._rows), left=2.0 * index,
                width=2.0, state=self._state(code))
            for index, code in enumerate(others)
        ]  # fmt: skip
        return keys

    def _state(self, code: int) -> str:
        if self._trouble(code):
            return "trouble"
        key = self._seen.get(code)
        if key is None or not key.times:
            return "open"
        return "down" if key.down_at is not None else "seen"

    def _trouble(self, code: int) -> str | None:
        key = self._seen.get(code)
        if key is None:
            return None
        if key.down_at is not None and self._now - key.down_at > self._stuck:
            return "stays down"
        if key.bounces >= self._often:
            return f"strikes twice ({key.bounces} times)"
        return None

    def _judged(self, left_over: str | None) -> GuideStep:
        labels = {k.code: k.label for row in self._rows for k in row}
        troubles = [
            f"{labels.get(code, f'key {code}')} {trouble}"
            for code in sorted(self._seen)
            if (trouble := self._trouble(code))
        ]
        unseen = [k.label for k in self._unseen()]
        if left_over == "dead":
            troubles = [*(f"{label} does nothing" for label in unseen), *troubles]
        return ended(self._reading(troubles, unseen if left_over == "absent" else []))

    def _reading(self, troubles: list[str], absent: list[str]) -> Reading:
        seen = sum(1 for key in self._seen.values() if key.times)
        says = self._row.passed.format(seen=seen)
        if troubles:
            says = self._row.failed.format(troubles="; ".join(troubles[:6]))
        details = [*troubles, *([f"not on this keyboard: {', '.join(absent)}"] if absent else [])]
        return reading(
            self._row,
            self._target,
            Outcome.FAILED if troubles else Outcome.PASSED,
            says,
            Basis(value=len(troubles), unit="keys", details=details),
        )
