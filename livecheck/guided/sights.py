"""What devices tell a guided check while it watches them."""

from __future__ import annotations

import msgspec

from livecheck.records import Record


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


class ScreenLinkSeen(Record, frozen=True, kw_only=True, tag="screen-link"):
    """The link of a panel, at one time."""

    seconds: float
    errors: int = 0
    """Since the look before."""
    allowed: float = 0.0
    """That a sound link may have in that time."""
    trouble: str = ""
    """What it has lost; empty: nothing."""
    unseen: bool = False
    """True: nothing can be told: the panel shows a picture of its own memory, or never answered."""


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
