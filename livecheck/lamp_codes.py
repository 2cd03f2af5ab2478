"""Short and long: what the keyboard's lamps and the PC speaker tell. Pure.

Short and long as in International Morse code: a long one lasts three short ones, a gap
within a code one (ITU-R M.1677-1, part I, 2). The codes themselves are our own, and short.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from livecheck.records import Side
from livecheck.wording import text

SHORT_SECONDS: Final = 0.25
LONG_SECONDS: Final = 3 * SHORT_SECONDS
GAP_SECONDS: Final = SHORT_SECONDS
REST_SECONDS: Final = 2.0
"""Dark and silent, before the code comes again."""


class Signal(StrEnum):
    """What is told without words."""

    WORKING = "working"
    ASKS = "asks"
    TROUBLE = "trouble"
    DEVICE = "device"
    CONTROLLER = "controller"
    SOFTWARE = "software"
    NO_FAULT = "no-fault"
    UNDETERMINED = "undetermined"


PATTERNS: Final = {
    Signal.WORKING: "s",
    Signal.ASKS: "ss",
    Signal.TROUBLE: "sssss",
    Signal.DEVICE: "ls",
    Signal.CONTROLLER: "ll",
    Signal.SOFTWARE: "lss",
    Signal.NO_FAULT: "lll",
    Signal.UNDETERMINED: "lsss",
}
"""``s`` short, ``l`` long. A verdict begins with a long one, nothing else does."""


def of_side(side: Side) -> Signal:
    """The code of a verdict."""
    return Signal(side.value)


def steps(signal: Signal) -> tuple[tuple[bool, float], ...]:
    """On or off, and for how many seconds: once through the code and its rest."""
    told: list[tuple[bool, float]] = []
    for sign in PATTERNS[signal]:
        told += [(True, SHORT_SECONDS if sign == "s" else LONG_SECONDS), (False, GAP_SECONDS)]
    return (*told[:-1], (False, REST_SECONDS))


def in_words(signal: Signal) -> str:
    """A code as the printed guide explains it."""
    lengths = (
        text("voice.code.short" if s == "s" else "voice.code.long") for s in PATTERNS[signal]
    )
    return f"{' '.join(lengths)}: {text(f'voice.code.{signal}')}"
