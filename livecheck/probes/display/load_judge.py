"""What became of a graphics chip under load, judged. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck.graphics.messages import Beat, Begun, WrongImage
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import KernelEvent

RESULTS: Final = "display.results"
HOT: Final = "display.results-hot"
HANG: Final = "display.hang"

SHOWN: Final = 12
"""Wrong results told with their place."""
KEPT: Final = 64
ENOUGH: Final = 6
"""Results below which nothing is told (assumed): each kind of work twice."""


class Compared(msgspec.Struct, kw_only=True):
    """Results while the machine was cold, or hot."""

    results: int = 0
    wrong: int = 0


class ChipTrial(msgspec.Struct, kw_only=True):
    """One chip under load."""

    rise: float
    """Kelvin above the start that count as hot."""
    begun: Begun | None = None
    at_start: float | None = None
    """Hottest sensor of the chip, else of the machine, °C; None: no sensor gives one."""
    hottest: float | None = None
    cold: Compared = msgspec.field(default_factory=Compared)
    hot: Compared = msgspec.field(default_factory=Compared)
    kept: list[tuple[WrongImage, float | None]] = []
    """The first wrong results, and how hot it was."""
    doubted: int = 0
    """Times the processor did not compute the same twice."""
    seconds: float = 0.0
    cut: str | None = None
    """Why nothing that passed counts as whole: stopped, skipped."""
    ended: str | None = None
    """Why it ended before its time."""
    hung: str | None = None
    """How it was seen that the chip hung."""
    died: str | None = None
    """How the driver's process ended, where it should not have."""
    events: tuple[KernelEvent, ...] = ()
    """What the kernel said of this chip meanwhile."""

    def take(self, beat: Beat, celsius: float | None) -> None:
        """Count one result, at this temperature."""
        warm = celsius is not None and self.at_start is not None
        hot = warm and (celsius or 0.0) - (self.at_start or 0.0) >= self.rise
        compared = self.hot if hot else self.cold
        compared.results += 1
        if celsius is not None:
            self.hottest = max(celsius, self.hottest or celsius)
        if beat.wrong is not None:
            compared.wrong += 1
            if len(self.kept) < KEPT:
                self.kept.append((beat.wrong, celsius))


def judged(trial: ChipTrial) -> Iterator[Finding]:
    """Whether its results were right, whether they stayed so when hot, whether it went on."""
    details = _details(trial)
    for one in (_results(trial), _hot(trial), _hang(trial)):
        yield one.with_details(details)


def _results(trial: ChipTrial) -> Finding:
    only_hot = trial.hot.wrong and not trial.cold.wrong
    wrong = 0 if only_hot else trial.cold.wrong + trial.hot.wrong
    whole = trial.cold.results if only_hot else trial.cold.results + trial.hot.results
    if wrong:
        says = f"{wrong} of {_many(whole, 'result')} of the graphics chip were wrong."
        return finding(RESULTS, True, wrong, says, "results")
    if trial.doubted:
        why = "the processor itself did not compute the same twice: its own test comes first"
        return unjudged(RESULTS, why)
    if whole < ENOUGH:
        why = trial.hung or trial.died or trial.cut or trial.ended or "too few results came"
        return unjudged(RESULTS, f"{_many(whole, 'result')}, then: {why}")
    if trial.cut is not None:
        return unjudged(RESULTS, trial.cut, 0, "results")
    says = f"All {_many(whole, 'result')} of the graphics chip were right"
    return finding(RESULTS, False, 0, f"{says}{' before it got hot' * bool(only_hot)}.", "results")


def _hot(trial: ChipTrial) -> Finding:
    hot = trial.hot
    if trial.cold.wrong:
        why = "results were wrong cold as well, so heat is not what brings them"
        return unjudged(HOT, why)
    if trial.at_start is None or trial.hottest is None:
        return unjudged(HOT, "no sensor of this machine gives a temperature")
    heat = f"at up to {trial.hottest:.0f} °C"
    if hot.wrong:
        says = f"{hot.wrong} of {hot.results} results were wrong {heat}, none of them cold."
        return finding(HOT, True, hot.wrong, says, "results")
    if hot.results < ENOUGH or trial.cold.results < ENOUGH:
        warmer = max(0.0, trial.hottest - trial.at_start)
        return unjudged(HOT, f"too little of the load was hot: it got {warmer:.0f} K warmer")
    if trial.cut is not None:
        return unjudged(HOT, trial.cut, 0, "results")
    says = f"All {hot.results} results {heat} were right, as those before."
    return finding(HOT, False, 0, says, "results")


def _hang(trial: ChipTrial) -> Finding:
    lines = [e for e in trial.events if e.serious]
    if trial.hung is not None or lines:
        says = trial.hung or lines[0].says
        return finding(HANG, True, max(1, len(lines)), f"Under load: {says}.", "times")
    if trial.died is not None:
        return unjudged(HANG, f"{trial.died}, and the kernel said nothing of the chip")
    if trial.cut is not None:
        return unjudged(HANG, trial.cut, 0, "times")
    if trial.cold.results + trial.hot.results < ENOUGH:
        return unjudged(HANG, trial.ended or "too few results came")
    return finding(HANG, False, 0, f"It went on for {trial.seconds:.0f} s.", "times")


def _many(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _details(trial: ChipTrial) -> tuple[str, ...]:
    begun = trial.begun
    lines = []
    if begun is not None:
        lines.append(f"{begun.renderer}, OpenGL ES {begun.version}: {', '.join(begun.kinds)}")
    for name, part in (("cold", trial.cold), ("hot", trial.hot)):
        lines.append(f"{name}: {part.results} results, {part.wrong} wrong")
    if trial.at_start is not None and trial.hottest is not None:
        lines.append(f"{trial.at_start:.0f} °C at the start, {trial.hottest:.0f} at the hottest")
    lines += [f"ended early: {why}" for why in (trial.ended, trial.died) if why]
    lines += [_line(*one) for one in trial.kept[:SHOWN]]
    lines += [f"[{e.seconds:.3f}] {e.raw}" for e in trial.events[:SHOWN]]
    return tuple(lines)


def _line(wrong: WrongImage, celsius: float | None) -> str:
    heat = "" if celsius is None else f", {celsius:.0f} °C"
    (left, top), (right, bottom) = wrong.first, wrong.last
    return (
        f"{wrong.kind} at {wrong.seconds:.1f} s{heat}: {_many(wrong.words, 'word')} wrong, "
        f"columns {left} to {right}, rows {top} to {bottom}; first {wrong.got:#010x} for "
        f"{wrong.expected:#010x}; bits {wrong.always:#010x} in each, {wrong.ever:#010x} in any"
    )
