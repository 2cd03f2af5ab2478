"""Checks the technician judges by looking: a question, test patterns, brightness steps."""

from __future__ import annotations

from typing import Final

from livecheck.guided.ending import YES_NO, Basis, ended, not_judged, reading, skipped
from livecheck.guided.events import Acted, Answered, Event, Skip
from livecheck.guided.one_check import OneCheck
from livecheck.guided.rows import GuideOffer
from livecheck.guided.steps import DONE, YES, Act, Choice, GuideStep, ScreenPattern
from livecheck.records import Knowledge, Outcome, ScreenFacts
from livecheck.wording import text

PATTERNS: Final = (
    ScreenPattern(kind="field", colour="black"),
    ScreenPattern(kind="field", colour="white"),
    ScreenPattern(kind="field", colour="red"),
    ScreenPattern(kind="field", colour="green"),
    ScreenPattern(kind="field", colour="blue"),
    ScreenPattern(kind="gradient"),
    ScreenPattern(kind="grid"),
    ScreenPattern(kind="steps"),
)
"""Black shows bright dots and light that leaks, white dark ones, each colour its own subpixels."""

SEEN: Final = (
    Choice(value="even", title="Even and whole", key="e"),
    Choice(value="dots", title="Dots that stay", key="d"),
    Choice(value="lines", title="Lines or bars", key="l"),
    Choice(value="shade", title="Dark or bright areas", key="s"),
    Choice(value="colour", title="Wrong colours", key="c"),
    Choice(value="flicker", title="Flicker", key="f"),
)
FAULTS: Final = {
    "dots": "single dots stay dark or lit",
    "lines": "lines or bars run across it",
    "shade": "areas of it are too dark or too bright",
    "colour": "colours are wrong",
    "flicker": "it flickers",
}

LEVELS: Final = (1.0, 0.6, 0.3, 0.1, 1.0)
"""Shares of the full brightness. Never 0: a screen gone dark could not be answered on."""
SHOWN_SECONDS: Final = 1.0


class Question:
    """One question, yes or no."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        self._row, self._targets = offer.row, offer.targets
        self._step = GuideStep(lines=self._row.lines, question=self._row.asks, choices=YES_NO)

    def start(self) -> GuideStep:
        """Ask."""
        return self._step

    def feed(self, event: Event) -> GuideStep:
        """Yes passes, no fails."""
        row = self._row
        if isinstance(event, Skip):
            self._step = ended(not_tested=skipped(row, self._targets, event))
        elif isinstance(event, Answered) and event.value in ("yes", "no"):
            good = event.value == YES
            outcome, says = (Outcome.PASSED, row.passed) if good else (Outcome.FAILED, row.failed)
            self._step = ended(
                *(reading(row, t, outcome, says, Basis(value=event.value, by="answered"))
                  for t in self._targets)
            )  # fmt: skip
        return self._step


class Display(OneCheck):
    """Test patterns one after another, then what was seen."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        super().__init__(offer, knowledge)
        self._shown = -1
        self._step = GuideStep(
            lines=self._row.lines,
            question=text("guide-says.ready"),
            choices=(Choice(value=DONE, title="Show the patterns", key="p"),),
        )

    def _on(self, event: Event) -> None:
        row = self._row
        if isinstance(event, Answered) and self._shown < len(PATTERNS):
            self._shown += 1
            if self._shown < len(PATTERNS):
                picture = PATTERNS[self._shown]
                share = self._shown / len(PATTERNS)
                next_one = Choice(value=DONE, title="Next", key="n")
                self._step = GuideStep(picture=picture, progress=share, choices=(next_one,))
            else:
                self._step = GuideStep(question=row.asks, choices=SEEN)
        elif isinstance(event, Answered) and event.value in {c.value for c in SEEN}:
            fault = FAULTS.get(event.value)
            outcome = Outcome.FAILED if fault else Outcome.PASSED
            says = row.failed.format(fault=fault) if fault else row.passed
            details = self._identity()
            self._step = ended(
                reading(row, self._target, outcome, says, Basis(value=event.value, details=details,
                        by="answered"))
            )  # fmt: skip

    def _identity(self) -> tuple[str, ...]:
        """What the panel says of itself, so that the right spare is ordered."""
        told = self._target.facts
        if not isinstance(told, ScreenFacts):
            return ()
        named = (
            ("maker", told.maker),
            ("monitor", told.monitor),
            ("product", told.product),
            ("year", told.year),
            ("width px", told.width_px),
            ("height px", told.height_px),
        )
        return tuple(f"{name}: {value}" for name, value in named if value is not None)


class Backlight:
    """Brightness in steps, then the question whether the screen followed."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        self._row, self._target = offer.row, offer.targets[0]
        self._number = 0
        self._why_not: str | None = None
        self._skip: Skip | None = None
        self._step = GuideStep(
            lines=self._row.lines,
            question=text("guide-says.ready"),
            choices=(Choice(value=DONE, title="Change the brightness", key="b"),),
        )

    def start(self) -> GuideStep:
        """What will happen."""
        return self._step

    def feed(self, event: Event) -> GuideStep:
        """Level after level; whatever happens, the old brightness comes back before the end."""
        row = self._row
        if isinstance(event, Skip):
            self._skip = event
            self._step = self._restoring() if self._number else self._end(None)
        elif isinstance(event, Answered) and event.value == DONE and not self._number:
            self._step = self._level()
        elif isinstance(event, Acted) and event.number == self._number:
            self._why_not = self._why_not or event.why_not
            if self._step.act is not None and self._step.act.restore:
                over = self._why_not or self._skip
                self._step = (
                    self._end(None) if over else GuideStep(question=row.asks, choices=YES_NO)
                )
            elif event.why_not or self._number >= len(LEVELS):
                self._step = self._restoring()
            else:
                self._step = self._level()
        elif isinstance(event, Answered) and event.value in ("yes", "no"):
            self._step = self._end(event.value)
        return self._step

    def _level(self) -> GuideStep:
        level = LEVELS[self._number]
        self._number += 1
        act = Act(kind="backlight", number=self._number, path=self._target.path or "",
                  level=level, seconds=SHOWN_SECONDS)  # fmt: skip
        return GuideStep(lines=(text("guide-says.brightness", level=f"{level:.0%}"),), act=act,
                    progress=self._number / (len(LEVELS) + 1))  # fmt: skip

    def _restoring(self) -> GuideStep:
        self._number += 1
        act = Act(kind="backlight", number=self._number, path=self._target.path or "",
                  restore=True)  # fmt: skip
        return GuideStep(lines=(text("guide-says.set-back"),), act=act)

    def _end(self, answer: str | None) -> GuideStep:
        row, target = self._row, self._target
        if self._skip is not None:
            return ended(not_tested=skipped(row, (target,), self._skip))
        if answer is None:
            return ended(not_judged(row, target, self._why_not or "it could not be set"))
        good = answer == YES
        outcome, says = (Outcome.PASSED, row.passed) if good else (Outcome.FAILED, row.failed)
        return ended(reading(row, target, outcome, says, Basis(value=answer, by="answered")))
