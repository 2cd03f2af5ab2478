"""Sound: a tone out of each speaker, and the same tone back through the microphone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from livecheck.guided.ending import YES_NO, Basis, ended, not_judged, reading
from livecheck.guided.events import Acted, Answered, Event, Heard
from livecheck.guided.one_check import OneCheck
from livecheck.guided.rows import GuideOffer
from livecheck.guided.steps import DONE, YES, Act, Choice, GuideStep
from livecheck.records import Knowledge, Outcome
from livecheck.wording import text

HERTZ: Final = 1000.0
VOLUME: Final = 0.3
CHANNELS: Final = ("left", "right")
FLOOR: Final = -120.0
"""dB relative to full scale: nothing at all, below any 16-bit sample."""
FULL: Final = 32768.0

READY: Final = (Choice(value=DONE, title="Play", key="p"),)


# --- Figures


def level_at(samples: Sequence[int], hertz: float, rate: int) -> float:
    """Level of one frequency in dB relative to a full-scale sine of it.

    One bin of the discrete Fourier transform, as Goertzel, An Algorithm for the
    Evaluation of Finite Trigonometric Series, American Mathematical Monthly 65 (1958),
    computes it. ``samples``: signed, 16 bits.
    """
    if not samples:
        return FLOOR
    # A whole number of periods keeps the tone in its own bin.
    periods = int(len(samples) * hertz / rate)
    length = round(periods * rate / hertz) or len(samples)
    turn = 2.0 * math.cos(2.0 * math.pi * hertz / rate)
    before = last = 0.0
    for sample in samples[:length]:
        last, before = sample / FULL + turn * last - before, last
    power = max(0.0, last * last + before * before - turn * last * before)
    return _decibel(2.0 * math.sqrt(power) / length)


def rms(samples: Sequence[int]) -> float:
    """Level of everything, dB relative to full scale; a full-scale sine has −3.01."""
    if not samples:
        return FLOOR
    middle = sum(samples) / len(samples)
    return _decibel(math.sqrt(sum((s - middle) ** 2 for s in samples) / len(samples)) / FULL)


def clipped(samples: Sequence[int]) -> float:
    """Share of samples at either end of the scale."""
    return sum(s in (32767, -32768) for s in samples) / len(samples) if samples else 0.0


def tone(hertz: float, seconds: float, volume: float, channel: str, rate: int) -> list[int]:
    """Signed 16-bit samples, left and right in turn; it begins and ends softly."""
    length, soft = int(seconds * rate), int(0.02 * rate)
    samples: list[int] = []
    for n in range(length):
        swell = min(1.0, n / soft, (length - n) / soft)
        value = round(32767 * volume * swell * math.sin(2.0 * math.pi * hertz * n / rate))
        samples += [value if channel != "right" else 0, value if channel != "left" else 0]
    return samples


def _decibel(share: float) -> float:
    return max(FLOOR, 20.0 * math.log10(share)) if share > 0 else FLOOR


# --- Checks


class Speakers(OneCheck):
    """A tone on each side; the technician says whether it came from there."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        super().__init__(offer, knowledge)
        self._number = 0
        self._silent: list[str] = []
        self._step = GuideStep(lines=self._row.lines, choices=READY)

    def _on(self, event: Event) -> None:
        if isinstance(event, Answered) and event.value == DONE and not self._number:
            self._step = self._play()
        elif isinstance(event, Acted) and event.number == self._number:
            if event.why_not:
                self._step = ended(not_judged(self._row, self._target, event.why_not))
            else:
                side = CHANNELS[self._number - 1]
                self._step = GuideStep(
                    question=self._row.asks.format(side=text(f"guide-way.{side}")), choices=YES_NO
                )
        elif isinstance(event, Answered) and event.value in ("yes", "no") and self._number:
            if event.value != YES:
                self._silent.append(CHANNELS[self._number - 1])
            self._step = self._play() if self._number < len(CHANNELS) else self._judged()

    def _play(self) -> GuideStep:
        self._number += 1
        side = CHANNELS[self._number - 1]
        act = Act(kind="tone", number=self._number, device=self._target.device or "", hertz=HERTZ,
                  seconds=1.5, level=VOLUME, channel=side)  # fmt: skip
        return GuideStep(lines=(text(f"guide-says.tone-{side}"),), act=act)

    def _judged(self) -> GuideStep:
        row = self._row
        says = row.failed.format(sides=" and ".join(self._silent)) if self._silent else row.passed
        outcome = Outcome.FAILED if self._silent else Outcome.PASSED
        return ended(reading(row, self._target, outcome, says, Basis(value=len(self._silent),
                             unit="channels", by="answered")))  # fmt: skip


class Microphone(OneCheck):
    """The machine listens to its own tone."""

    def __init__(self, offer: GuideOffer, knowledge: Knowledge) -> None:
        super().__init__(offer, knowledge)
        self._step = GuideStep(lines=self._row.lines, choices=READY)

    def _on(self, event: Event) -> None:
        if isinstance(event, Answered) and event.value == DONE and self._step.act is None:
            act = Act(kind="listen", number=1, device=self._target.device or "", hertz=HERTZ,
                      seconds=1.5, level=VOLUME)  # fmt: skip
            self._step = GuideStep(lines=(text("guide-says.quiet"),), act=act)
        elif isinstance(event, Heard):
            self._step = self._judged(event)

    def _judged(self, heard: Heard) -> GuideStep:
        row, target = self._row, self._target
        if heard.why_not or heard.tone is None or heard.quiet is None or heard.rms is None:
            return ended(not_judged(row, target, heard.why_not or "nothing was recorded"))
        above = heard.tone - heard.quiet
        fault = None
        if heard.rms <= self._limits["dead_db"]:
            fault = "it gives digital silence"
        elif above < self._limits["above_db"]:
            fault = f"the tone stands only {above:.0f} dB above the room's noise"
        elif heard.clipped > self._limits["clipped_share"]:
            fault = f"{heard.clipped:.0%} of its samples are overdriven"
        says = row.failed.format(fault=fault) if fault else row.passed.format(above=f"{above:.0f}")
        details = (
            f"without the tone {heard.quiet:.1f} dB, with it {heard.tone:.1f} dB, "
            f"everything {heard.rms:.1f} dB relative to full scale",
        )
        outcome = Outcome.FAILED if fault else Outcome.PASSED
        return ended(reading(row, target, outcome, says, Basis(value=round(above, 1), unit="dB",
                             details=details)))  # fmt: skip
