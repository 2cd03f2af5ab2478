"""What a guided check shows, watches and does.

A guided check is a small state machine without any I/O. ``start()`` gives its first
``GuideStep``; every ``feed(event)`` gives the next one. A step says what to show, which
devices to watch meanwhile and, sometimes, one thing to do (an ``Act``). Whoever drives
it (``livecheck.guided.drive``) shows the step, watches, acts, and feeds back what came
of it, until a step is ``done`` and carries its readings.
"""

from __future__ import annotations

from typing import Final, Protocol

import msgspec

from livecheck.guided.events import Event
from livecheck.records import NotTested, Reading, Record

YES: Final = "yes"
NO: Final = "no"
DONE: Final = "done"
AGAIN: Final = "again"
"""Values of answers that several checks use."""


class Choice(Record, frozen=True, kw_only=True):
    """One answer that can be given, by one key."""

    value: str
    title: str
    key: str


class Key(Record, frozen=True, kw_only=True):
    """One key of a drawn keyboard."""

    code: int
    """Linux key code (input-event-codes.h)."""
    label: str
    row: int
    left: float
    width: float
    """In key widths, from the left edge."""
    state: str = "open"
    """``open``, ``down``, ``seen``, ``trouble``."""


class Keys(Record, frozen=True, kw_only=True, tag="keys"):
    """A keyboard as far as its keys were seen."""

    keys: tuple[Key, ...]


class Trace(Record, frozen=True, kw_only=True, tag="trace"):
    """A pad's or screen's surface as cells; True: touched."""

    cells: tuple[tuple[bool, ...], ...]
    """Rows from the top, each from the left."""
    finger: tuple[int, int] | None = None
    """Row and column of the cell touched last."""


class ScreenPattern(Record, frozen=True, kw_only=True, tag="pattern"):
    """A full-screen test pattern, to be drawn without any frame, text or border."""

    kind: str
    """``field`` (one colour), ``gradient`` (dark left to bright right), ``grid`` (thin
    lines) or ``steps`` (eight grey bars)."""
    colour: str = "white"
    """``black``, ``red``, ``green``, ``blue`` or ``white``."""


Picture = Keys | Trace | ScreenPattern


class Watch(Record, frozen=True, kw_only=True):
    """Something to look at while the step is shown."""

    kind: str
    """``input`` (events of an input device), ``usb`` (ports and what is in them), ``card``
    (cards in the slots), ``lid``, ``link`` (a wired interface), ``screen-link`` (a panel's),
    ``sensor``, ``clock``."""
    path: str = ""
    """Path in sysfs of the device; for ``lid`` its folder in procfs; for ``screen-link`` the
    kernel's name of its channel; for ``usb`` and ``card`` empty: all of them."""
    alone: bool = False
    """True: the device's events go to this check and to nobody else meanwhile."""


class Act(Record, frozen=True, kw_only=True):
    """One thing to do, once, when its step is shown; the result is fed back."""

    kind: str
    """``backlight``, ``tone``, ``listen``, ``frames``, ``range``, ``up`` (a network
    interface is switched on, which connects to nothing)."""
    number: int
    """Counts up within a check, so that a step shown twice acts once."""
    path: str = ""
    device: str = ""
    level: float = 0.0
    """Share of the full brightness or volume, 0 … 1."""
    hertz: float = 0.0
    seconds: float = 0.0
    channel: str = "both"
    """``left``, ``right`` or ``both``."""
    restore: bool = False
    """True: put back what stood there before the first such act."""


class GuideStep(Record, frozen=True, kw_only=True):
    """What a guided check shows, wants and, at its end, found."""

    lines: tuple[str, ...] = ()
    """What the technician reads, in order."""
    question: str | None = None
    choices: tuple[Choice, ...] = ()
    progress: float | None = None
    """Share done, 0 … 1; None: cannot tell."""
    picture: Picture | None = None
    watch: tuple[Watch, ...] = ()
    act: Act | None = None
    tick: float | None = None
    """Seconds after which to feed a ``Tick`` if nothing else came; None: wait."""
    done: bool = False
    readings: tuple[Reading, ...] = ()
    not_tested: tuple[NotTested, ...] = ()
    called: dict[str, str] = msgspec.field(default_factory=dict)
    """Place -> the name that hands find it by, where the technician told it."""


class Guide(Protocol):
    """A guided check while it runs."""

    def start(self) -> GuideStep:
        """The first step."""

    def feed(self, event: Event) -> GuideStep:
        """The step after an event; the same step again for one that changes nothing."""
