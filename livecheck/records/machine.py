"""A machine in one configuration: its parts, places, controllers and devices."""

from __future__ import annotations

import msgspec

from livecheck.records.base import Presence, Record, Value
from livecheck.records.facts import DeviceFacts, ScreenFacts


class Machine(Record, frozen=True, kw_only=True):
    """Who this machine is, by its firmware's tables. Every string may be a lie."""

    vendor: str | None = None
    product: str | None = None
    version: str | None = None
    serial: str | None = None
    uuid: str | None = None
    board_vendor: str | None = None
    board_product: str | None = None
    board_version: str | None = None
    board_serial: str | None = None
    firmware_vendor: str | None = None
    firmware_version: str | None = None
    firmware_date: str | None = None
    chassis: str | None = None
    processor: str | None = None
    installed_memory_bytes: int | None = None

    @property
    def named(self) -> str:
        """Maker and model, the maker once, else the board's model; empty: it says none."""
        return _named(self.vendor, self.product) or self.board_product or ""

    @property
    def board_named(self) -> str:
        """Maker and model of the mainboard, the maker once; empty: it says neither."""
        return _named(self.board_vendor, self.board_product)


def _named(maker: str | None, model: str | None) -> str:
    """Many makers begin the model's name with their own."""
    if maker and model and model.casefold().startswith(maker.casefold()):
        return model
    return " ".join(word for word in (maker, model) if word)


class Controller(Record, frozen=True, kw_only=True):
    """What stays on the board and serves places: a host adapter, root port, hub."""

    id: str
    kind: str
    """A kind of shared/components.toml."""
    name: str
    parent: str | None = None
    """Id of the controller this one hangs on; None: on the mainboard itself."""
    attributes: dict[str, Value] = msgspec.field(default_factory=dict)


class Place(Record, frozen=True, kw_only=True):
    """Where a part goes: bay, port, slot, socket, jack. It stays when the part goes."""

    id: str
    kind: str
    name: str
    controller: str | None = None
    """Id of the controller that serves it; None: the mainboard itself."""
    presence: Presence = Presence.UNKNOWN
    external: bool = False
    """True: reachable from outside (USB port); what is plugged there is not the machine's."""
    expects: str | None = None
    """Kind of part that goes there; None: the place's own kind tells."""
    told_fitted: bool = False
    """True: the technician says that a part is in it, whatever is seen."""
    printed_name: str | None = None
    """What the firmware says is printed beside it."""
    form: str | None = None
    """Shape of the memory modules it takes."""
    ata: str | None = None
    """The kernel's name of a SATA port: ``ata1``."""
    secondary_bus: str | None = None
    """PCI bus behind the port of a card slot: ``0000:02``."""
    slot_implemented: bool | None = None
    """False: the link of its port ends in a chip of the board, by the port's register."""
    over_current_count: int | None = None
    """How often a USB socket was switched off for too much current since the kernel started."""
    port_max_gbps: float | None = None
    """What a SATA port can do."""
    port_max_mbps: float | None = None
    """What the faster half of a USB socket can do."""
    port_max_speed_gts: float | None = None
    port_max_width: int | None = None
    """What the port of a card slot can do: a lane, and the number of lanes."""
    attributes: dict[str, Value] = msgspec.field(default_factory=dict)
    """More that is known of it and only shown."""


class Part(Record, frozen=True, kw_only=True):
    """Something fitted that can be swapped."""

    id: str
    kind: str
    name: str
    place: str
    """Id of the place it was seen in."""
    identity: str | None = None
    """What makes a swap visible: ``serial:…``, ``wwn:…``, ``mac:…``; None: it carries none."""
    vendor: str | None = None
    model: str | None = None
    serial: str | None = None
    firmware: str | None = None
    soldered: bool = False
    """True: fixed to the board, so a fault in it is the board's."""
    bench_own: bool = False
    """True: it came with the bench: the stick the program was started from."""
    answers: bool | None = None
    """False: it is on its bus, and its registers read all ones."""
    pci: str | None = None
    """Address of its main PCI function."""
    pci_id: str | None = None
    usb: str | None = None
    """The kernel's name of it as a USB device: ``1-4``."""
    usb_id: str | None = None
    scsi: str | None = None
    """SCSI address: ``0:0:0:0``."""
    nvme: str | None = None
    """The kernel's name of its NVMe controller."""
    block: str | None = None
    """The kernel's name of the whole disk."""
    size_bytes: int | None = None
    """Of a drive or a memory module."""
    data_bits: int | None = None
    total_bits: int | None = None
    """Width of a memory module, without and with the bits of its error correction."""
    design_volts: float | None = None
    """Of a battery."""
    sound_card: str | None = None
    """The kernel's name of the card a speaker or microphone is on."""
    screen: ScreenFacts | None = None
    """Of a panel."""
    attributes: dict[str, Value] = msgspec.field(default_factory=dict)
    """More that is known of it and only shown."""


class Device(Record, frozen=True, kw_only=True):
    """One node of the kernel's device model, and the component it belongs to."""

    subsystem: str
    """``pci``, ``block``, ``usb``, ``net``, ``power_supply``, ``hwmon``, ``thermal``, …"""
    name: str
    """The kernel's name: ``0000:00:1f.2``, ``sda``, ``1-1.4``, ``wlan0``."""
    path: str
    """Its path in sysfs."""
    component: str | None = None
    """Id of the part, place or controller it belongs to; None: the machine as a whole."""
    driver: str | None = None
    description: str | None = None
    number: str | None = None
    """Major and minor number of its node (``8:0``), as the kernel's log names it."""
    facts: DeviceFacts | None = None
    """What its subsystem tells of it."""
    attributes: dict[str, Value] = msgspec.field(default_factory=dict)
    """More that is known of it and only shown."""


class Inventory(Record, frozen=True, kw_only=True):
    """The tree mainboard -> controller -> place -> part of one configuration."""

    machine: Machine = Machine()
    controllers: tuple[Controller, ...] = ()
    places: tuple[Place, ...] = ()
    parts: tuple[Part, ...] = ()
    devices: tuple[Device, ...] = ()
    gaps: tuple[str, ...] = ()
    """Sentences: what could not be enumerated, and why."""
