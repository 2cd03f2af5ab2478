"""What the kernel tells of a device, by its subsystem: what other code reads, typed.

What is only shown stands in the ``attributes`` of a device, part or place.
"""

from __future__ import annotations

from livecheck.records.base import Record


class PciFacts(Record, frozen=True, kw_only=True, tag_field="of", tag="pci"):
    """A function of the PCI tree, by its configuration space."""

    above: str | None = None
    """Address of the bridge it is behind; None: on a root bus."""
    answers: bool | None = None
    """False: its configuration space reads all ones; None: it could not be read."""
    link_speed_gts: float | None = None
    link_width: int | None = None
    """Lanes in use."""
    link_max_speed_gts: float | None = None
    link_max_width: int | None = None
    device_status: int | None = None
    """Register of the PCI Express capability."""
    aer_correctable: int | None = None
    aer_uncorrectable: int | None = None
    """Status registers of Advanced Error Reporting."""


class UsbFacts(Record, frozen=True, kw_only=True, tag_field="of", tag="usb"):
    """A USB device."""

    speed_mbps: float | None = None
    """What its link runs at."""
    max_mbps: float | None = None
    """What it says it can do; None: it does not say."""
    bluetooth: bool = False


class BlockFacts(Record, frozen=True, kw_only=True, tag_field="of", tag="block"):
    """A block device."""

    size_bytes: int | None = None
    partition: bool = False
    rotational: bool | None = None


class NvmeFacts(Record, frozen=True, kw_only=True, tag_field="of", tag="nvme"):
    """An NVMe controller."""

    state: str | None = None
    """The kernel's word: ``live``, ``dead`` and others (drivers/nvme/host/core.c)."""


class NetFacts(Record, frozen=True, kw_only=True, tag_field="of", tag="net"):
    """A network interface."""

    wireless: bool = False
    virtual: bool = False


class InputFacts(Record, frozen=True, kw_only=True, tag_field="of", tag="input"):
    """An input device."""

    kind: str | None = None
    """``touchpad``, ``touchscreen``, ``keyboard`` or ``mouse`` by udev's rules; None: other."""
    inside: bool = False
    """True: on a bus that only the machine's own keys and pads are on."""


class CameraFacts(Record, frozen=True, kw_only=True, tag_field="of", tag="camera"):
    """A video node."""

    captures: bool = False
    """True: it gives pictures."""


class ScreenFacts(Record, frozen=True, kw_only=True, tag_field="of", tag="screen"):
    """A screen at a display connector, by its EDID."""

    status: str | None = None
    """The kernel's word for the connector: ``connected``, ``disconnected``, ``unknown``."""
    bus: str | None = None
    """The kernel's name of the I2C bus that its EDID is read over."""
    read: bool = False
    """False: there is no EDID that could be read."""
    damage: str | None = None
    """The first thing that is wrong with it."""
    monitor: str | None = None
    """The screen's name."""
    maker: str | None = None
    product: int | None = None
    year: int | None = None
    width_px: int | None = None
    height_px: int | None = None
    refresh_hz: float | None = None
    width_mm: int | None = None
    height_mm: int | None = None


class BacklightFacts(Record, frozen=True, kw_only=True, tag_field="of", tag="backlight"):
    """What makes a panel bright (Linux, Documentation/ABI/stable/sysfs-class-backlight)."""

    type: str | None = None
    """Whom it is set through: ``firmware``, ``platform`` or ``raw``, the graphics circuit."""
    level: int | None = None
    max_level: int | None = None
    off: bool | None = None
    """True: it is switched off, whatever its level."""


DeviceFacts = (
    PciFacts
    | UsbFacts
    | BlockFacts
    | NvmeFacts
    | NetFacts
    | InputFacts
    | CameraFacts
    | ScreenFacts
    | BacklightFacts
)
