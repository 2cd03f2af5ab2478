"""What a guided check is made of: its row, what it asks the shell for, what it is told.

A guided check is a small state machine without any I/O. ``start()`` gives its first
``Step``; every ``feed(event)`` gives the next one. A step says what to show, which
devices to watch meanwhile and, sometimes, one thing to do (an ``Act``). Whoever drives
it (``livecheck.guided.drive``) shows the step, watches, acts, and feeds back what came
of it, until a step is ``done`` and carries its readings.
"""

from __future__ import annotations

from typing import Final, Protocol

import msgspec

from livecheck.records import DeviceFacts, NotTested, Place, Reading, Record, Value

YES: Final = "yes"
NO: Final = "no"
DONE: Final = "done"
AGAIN: Final = "again"
"""Values of answers that several checks use."""


# --- Rows of shared/guided.toml


class Need(Record, frozen=True, kw_only=True):
    """Hardware a check is for; every field that is given must fit."""

    part: str | None = None
    """Kind of part."""
    place: str | None = None
    """Kind of place."""
    external: bool | None = None
    device: str | None = None
    """Subsystem of a device."""
    named: str | None = None
    """Regular expression somewhere in the name, description or model."""
    having: dict[str, Value] = msgspec.field(default_factory=dict)
    """Facts of a device with these values."""


class Row(Record, frozen=True, kw_only=True):
    """One guided check as data."""

    name: str
    title: str
    guide: str
    """Which state machine runs it (``livecheck.guided.table.GUIDES``)."""
    becomes: str
    """The check of shared/checks.toml its reading is of."""
    needs: tuple[Need, ...]
    """Any one of them; nothing of it there: the check is not offered."""
    lines: tuple[str, ...]
    """What to do, in order."""
    kind: str = "mainboard"
    """Kind of component it is about (shared/components.toml)."""
    each: bool = False
    """True: one check for each thing found; False: one for all of them."""
    asks: str = ""
    """The question, where the technician is the one who judges."""
    passed: str = ""
    failed: str = ""
    """What the reading says, either way."""
    cautions: tuple[str, ...] = ()
    """Names in shared/cautions.toml, to be read before it begins."""
    minutes: float = 1.0


class Drawn(Record, frozen=True, kw_only=True):
    """One key of the keyboard's drawing."""

    code: int
    label: str
    width: float = 1.0
    core: bool = True
    """True: every laptop has it, so it must be seen."""


class Table(Record, frozen=True, kw_only=True):
    """The whole of shared/guided.toml."""

    check: tuple[Row, ...]
    keys: tuple[tuple[Drawn, ...], ...]
    """Rows of keys from the top."""


class Target(Record, frozen=True, kw_only=True):
    """One thing a check is about."""

    component: str
    """Where the reading is taken: a component's id, or ``machine``."""
    name: str
    device: str | None = None
    """Kernel name of the device."""
    path: str | None = None
    """Its path in sysfs."""
    facts: DeviceFacts | None = None
    """What the kernel tells of the device, or the EDID of the panel."""
    place: Place | None = None
    """The place, where the check is about one."""
    attributes: dict[str, Value] = msgspec.field(default_factory=dict)
    """More that is known of it and only shown."""


class Offer(Record, frozen=True, kw_only=True):
    """A check this machine has the hardware for."""

    row: Row
    targets: tuple[Target, ...]

    @property
    def title(self) -> str:
        """Title with the thing's name, where there is one check for each."""
        if not self.row.each:
            return self.row.title
        return f"{self.row.title} ({self.targets[0].name})"


# --- What is shown


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


class Pattern(Record, frozen=True, kw_only=True, tag="pattern"):
    """A full-screen test pattern, to be drawn without any frame, text or border."""

    sort: str
    """``field`` (one colour), ``gradient`` (dark left to bright right), ``grid`` (thin
    lines) or ``steps`` (eight grey bars)."""
    colour: str = "white"
    """``black``, ``red``, ``green``, ``blue`` or ``white``."""


Picture = Keys | Trace | Pattern


class Watch(Record, frozen=True, kw_only=True):
    """Something to look at while the step is shown."""

    sort: str
    """``input`` (events of an input device), ``usb`` (ports and what is in them), ``card``
    (cards in the slots), ``lid``, ``link`` (a wired interface), ``sensor``, ``clock``."""
    path: str = ""
    """Path in sysfs of the device; for ``lid`` its folder in procfs; for ``usb`` and
    ``card`` empty: all of them."""
    alone: bool = False
    """True: the device's events go to this check and to nobody else meanwhile."""


class Act(Record, frozen=True, kw_only=True):
    """One thing to do, once, when its step is shown; the result is fed back."""

    sort: str
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


class Step(Record, frozen=True, kw_only=True):
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


# --- What a check is told


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


class Input(Record, frozen=True, kw_only=True, tag="input"):
    """One event of an input device (Documentation/input/event-codes.rst)."""

    seconds: float
    kind: int
    code: int
    value: int
    path: str = ""


class UsbSight(Record, frozen=True, kw_only=True):
    """One USB device as it stands."""

    name: str
    """The kernel's: ``1-4``."""
    place: str
    """Id of the place of its port."""
    speed: float | None
    """Mbit/s."""
    usb_id: str = ""
    serial: str | None = None
    title: str = ""


class UsbSeen(Record, frozen=True, kw_only=True, tag="usb"):
    """All USB devices, over-current counts and new kernel messages, at one time."""

    seconds: float
    devices: tuple[UsbSight, ...] = ()
    over_current: dict[str, int] = msgspec.field(default_factory=dict)
    """Place -> count of the kernel's over-current events."""
    messages: tuple[tuple[str, str], ...] = ()
    """(place, line) of new kernel messages about a port or the device in it."""


class CardSeen(Record, frozen=True, kw_only=True, tag="card"):
    """Cards in the slots, at one time."""

    seconds: float
    cards: tuple[tuple[str, str, str], ...] = ()
    """(place, name of the card, size in bytes or empty)."""


class LidSeen(Record, frozen=True, kw_only=True, tag="lid"):
    """The lid's switch, at one time."""

    seconds: float
    open: bool | None


class LinkSeen(Record, frozen=True, kw_only=True, tag="link"):
    """A wired interface, at one time."""

    seconds: float
    carrier: bool | None
    speed: int | None = None
    """Mbit/s."""
    duplex: str | None = None
    errors: int | None = None
    """Sum of the receive, transmit and CRC errors the interface counted."""
    packets: int | None = None


class SensorSeen(Record, frozen=True, kw_only=True, tag="sensor"):
    """The raw values of a sensor's channels, at one time."""

    seconds: float
    values: dict[str, float]
    """Channel (``accel_x``, ``illuminance``) -> value in the kernel's unit."""


class ClockSeen(Record, frozen=True, kw_only=True, tag="clock"):
    """The hardware clock, at one time."""

    seconds: float
    epoch: int | None
    """What it shows, in seconds since 1970 as if it ran in UTC."""


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
    | SensorSeen
    | ClockSeen
    | Acted
    | Ranges
    | Heard
    | Frames
)


class Guide(Protocol):
    """A guided check while it runs."""

    def start(self) -> Step:
        """The first step."""

    def feed(self, event: Event) -> Step:
        """The step after an event; the same step again for one that changes nothing."""
