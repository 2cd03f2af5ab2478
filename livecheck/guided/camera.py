"""The camera: a few frames, and what their figures say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck.guided.ending import Basis, ended, not_judged, reading
from livecheck.guided.events import Answered, Event, Frames
from livecheck.guided.one_check import OneCheck
from livecheck.guided.rows import GuideOffer
from livecheck.guided.steps import AGAIN, DONE, Act, Choice, GuideStep
from livecheck.records import Knowledge, Outcome
from livecheck.wording import text

READY: Final = (Choice(value=DONE, title="Take pictures", key="t"),)
COVERED: Final = (
    Choice(value=AGAIN, title="It was covered or dark: once more", key="o"),
    Choice(value=DONE, title="It looks into light, uncovered", key="l"),
)
ENDS: Final = 4
"""Steps from either end of 0 … 255 that count as no brightness or full."""


def figures(number: int, planes: Sequence[bytes], width: int, height: int, lost: int) -> Frames:
    """Figures of the brightness planes of a few frames; one byte a pixel.

    Every fourth byte is looked at: a cheap sensor's faults are wider than that.
    """
    last = planes[-1][::4] if planes else b""
    if not last:
        return Frames(number=number, why_not="no frame came", lost=lost)
    mean = sum(last) / len(last)
    square = sum(v * v for v in last) / len(last)
    motion = None
    if len(planes) > 1:
        before = planes[-2][::4]
        motion = sum(abs(a - b) for a, b in zip(before, last, strict=False)) / len(last)
    return Frames(
        number=number,
        taken=len(planes),
        lost=lost,
        width=width,
        height=height,
        mean=mean,
        deviation=max(0.0, square - mean * mean) ** 0.5,
        bright=sum(v > 255 - ENDS for v in last) / len(last),
        dark=sum(v < ENDS for v in last) / len(last),
        motion=motion,
    )


class Camera(OneCheck):
    """Take frames, judge them; ask only when a covered lens could explain it."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        super().__init__(offer, knowledge)
        self._number = 0
        self._frames: Frames | None = None
        self._step = GuideStep(lines=self._row.lines, choices=READY)

    def _on(self, event: Event) -> None:
        if isinstance(event, Frames) and event.number == self._number:
            self._step = self._judged(event)
        elif isinstance(event, Answered):
            if self._frames is not None and event.value == DONE:
                fault = self._blind(self._frames) or "it gives no picture"
                self._step = self._end(self._frames, fault)
            elif event.value in (DONE, AGAIN) and self._step.act is None:
                self._step = self._take()

    def _take(self) -> GuideStep:
        self._number += 1
        self._frames = None
        act = Act(kind="frames", number=self._number, path=self._target.path or "",
                  device=self._target.device or "")  # fmt: skip
        return GuideStep(lines=(text("guide-says.taking"),), act=act)

    def _judged(self, frames: Frames) -> GuideStep:
        if frames.why_not or frames.mean is None:
            return ended(not_judged(self._row, self._target, frames.why_not or "no frame came"))
        if blind := self._blind(frames):
            self._frames = frames
            return GuideStep(lines=(text("guide-says.empty"), f"{blind}."),
                        question=self._row.asks, choices=COVERED)  # fmt: skip
        fault = None
        if frames.motion == 0.0 and frames.taken > 1:
            fault = "two frames are the same to the last bit: the picture stands still"
        elif frames.lost > self._limits["lost_share"] * (frames.taken + frames.lost):
            fault = f"{frames.lost} of {frames.taken + frames.lost} frames were lost"
        return self._end(frames, fault)

    def _blind(self, frames: Frames) -> str | None:
        mean, spread = frames.mean or 0.0, frames.deviation or 0.0
        if (frames.dark or 0.0) > self._limits["dark_share"]:
            return f"{frames.dark:.0%} of it is black"
        if (frames.bright or 0.0) > self._limits["bright_share"]:
            return f"{frames.bright:.0%} of it is full white"
        if spread < self._limits["deviation"]:
            return f"it is one even field (brightness {mean:.0f}, deviation {spread:.1f})"
        return None

    def _end(self, frames: Frames, fault: str | None) -> GuideStep:
        row = self._row
        size = f"{frames.width}×{frames.height}"
        says = row.failed.format(fault=fault) if fault else row.passed.format(size=size)
        motion = "" if frames.motion is None else f", change between frames {frames.motion:.2f}"
        details = (
            f"{frames.taken} frames of {size}, {frames.lost} lost; brightness {frames.mean:.1f}, "
            f"deviation {frames.deviation:.1f}, black {frames.dark:.1%}, "
            f"white {frames.bright:.1%}{motion}",
        )
        return ended(
            reading(row, self._target, Outcome.FAILED if fault else Outcome.PASSED, says,
                    Basis(value=round(frames.mean or 0.0, 1), details=details))
        )  # fmt: skip
