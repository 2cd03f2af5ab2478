"""Everything a guided check is told: by the technician, by devices, by what it had done."""

from __future__ import annotations

from livecheck.guided.sights import (
    CardSeen,
    ClockSeen,
    Input,
    LidSeen,
    LinkSeen,
    ScreenLinkSeen,
    SensorSeen,
    UsbSeen,
)
from livecheck.records import Record


class Answered(Record, frozen=True, kw_only=True, tag="answered"):
    """The technician chose one of the step's choices."""

    value: str


class Skip(Record, frozen=True, kw_only=True, tag="skip"):
    """The technician leaves the check out. Every step takes it."""

    why: str = "left out by the technician"


class Tick(Record, frozen=True, kw_only=True, tag="tick"):
    """Time passed."""

    seconds: float
    """On a clock that never runs back; all events of a check are on the same one."""


class Acted(Record, frozen=True, kw_only=True, tag="acted"):
    """An act was done, or could not be."""

    number: int
    why_not: str | None = None


class Ranges(Record, frozen=True, kw_only=True, tag="ranges"):
    """Least and most value of a pad's two axes."""

    number: int
    x: tuple[int, int] | None
    y: tuple[int, int] | None
    multitouch: bool = False


class Heard(Record, frozen=True, kw_only=True, tag="heard"):
    """What the microphone took up while a tone was played, and before it."""

    number: int
    why_not: str | None = None
    quiet: float | None = None
    """Level at the tone's frequency without the tone, dB relative to full scale."""
    tone: float | None = None
    """The same while it was played."""
    rms: float | None = None
    """Level of everything while it was played, dB relative to full scale."""
    clipped: float = 0.0
    """Share of samples at the end of the scale."""


class Frames(Record, frozen=True, kw_only=True, tag="frames"):
    """Figures of a few frames of a camera."""

    number: int
    why_not: str | None = None
    taken: int = 0
    lost: int = 0
    """Frames the driver marked as damaged, or that it left out."""
    width: int = 0
    height: int = 0
    mean: float | None = None
    """Of the brightness, 0 … 255."""
    deviation: float | None = None
    """Standard deviation over the picture."""
    bright: float | None = None
    dark: float | None = None
    """Share of pixels at the end of the scale."""
    motion: float | None = None
    """Mean change of a pixel between two frames: a sensor's noise is never 0."""


Event = (
    Answered
    | Skip
    | Tick
    | Input
    | UsbSeen
    | CardSeen
    | LidSeen
    | LinkSeen
    | ScreenLinkSeen
    | SensorSeen
    | ClockSeen
    | Acted
    | Ranges
    | Heard
    | Frames
)
