"""Which component a kernel message's device belongs to.

The kernel names the same thing in many ways (``ata3.00``, ``sd 2:0:0:0``, ``sda``); each
is looked up among the devices of the inventory, from the most exact name to the
place around it.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from livecheck.records import Device, Inventory, KernelEvent


def attach(found: Sequence[KernelEvent], inventory: Inventory) -> tuple[KernelEvent, ...]:
    """The events with their components filled in where the inventory knows the device.

    An event at a place is given to the part in it, so that the whole path is on trial.
    """
    return Lookup(inventory).attached(found)


ONLY_ONE: Final = {
    "graphics": "display-controller",
    "wireless": "wireless-card",
    "sound": "sound-controller",
    "input": "touchpad",
    "machine check": "memory-module",
}
"""Subsystem -> the kind of component its messages mean where the machine has one only and the
message names a driver, a module's label or a chip of which the inventory has no device."""

_KEYBOARDS: Final = re.compile(r"i8042|serio\d+")
"""The keyboard controller and its lines: the pad of today's machines hangs elsewhere."""

_DRIVERS: Final = {"NVRM": "nvidia"}
"""What a driver calls itself in its messages -> its name."""

_FOLDER: Final = re.compile(
    r"i2c-\S*[A-Z]\S*|host\d+|serio\d+|\d+:\d+:\d+:\d+|(?:[0-9A-F]{4}:){2}[0-9A-F]{4}\.[0-9A-F]{4}"
)
"""Chips on I2C, SCSI hosts and disks, lines of the keyboard controller, devices of HID."""

_ADDRESS: Final = re.compile(r"[0-9a-f]{4,5}:[0-9a-f]{2}:[0-9a-f]{2}(?:\.[0-7])?")


class Lookup:
    """The components of an inventory by the kernel's names of their devices."""

    def __init__(self, inventory: Inventory) -> None:
        self._by_name: dict[str, str] = {}
        self._by_driver: dict[str, set[str]] = {}
        for device in inventory.devices:
            if device.component is None:
                continue
            self._by_name.setdefault(device.name, device.component)
            if device.number is not None:
                self._by_name.setdefault(f"b{device.number}", device.component)
            if device.driver:
                self._by_driver.setdefault(device.driver, set()).add(device.component)
            self._by_path(device)
        self._places = {place.id for place in inventory.places}
        self._controllers = {controller.id for controller in inventory.controllers}
        self._part_in = {part.place: part.id for part in reversed(inventory.parts)}
        kinds: dict[str, list[str]] = {}
        for part in inventory.parts:
            kinds.setdefault(part.kind, []).append(part.id)
        for controller in inventory.controllers:
            kinds.setdefault(controller.kind, []).append(controller.id)
        self._by_kind = kinds

    def _by_path(self, device: Device) -> None:
        """What stands on the way to a device is no device of the inventory itself."""
        folders = device.path.split("/")
        for above, folder in itertools.pairwise(folders):
            if _FOLDER.fullmatch(folder):
                self._by_name.setdefault(folder, device.component or "")
            if re.fullmatch(r"i2c_\w+\.\d+", folder):
                self._by_name.setdefault(folder, f"pci:{above}")

    def attached(self, found: Sequence[KernelEvent]) -> tuple[KernelEvent, ...]:
        """The events with their components."""
        return tuple(
            msgspec.structs.replace(event, component=self.component(event)) for event in found
        )

    def component(self, event: KernelEvent) -> str | None:
        """Id of the component that a message's device belongs to."""
        for name in _names(event.device) if event.device is not None else ():
            found = self._by_name.get(name) or self._by_id(name)
            if found is not None:
                return self._part_in.get(found, found)
        if event.device is not None and _ADDRESS.fullmatch(event.device):
            return None
        return self._by_own_driver(event.device or "") or self._only_one(event)

    def _by_own_driver(self, name: str) -> str | None:
        found = self._by_driver.get(_DRIVERS.get(name, name), set())
        return min(found) if len(found) == 1 else None

    def _only_one(self, event: KernelEvent) -> str | None:
        """A record of the machine as a whole names no device; a module's label is one."""
        if event.subsystem == "machine check" and event.device is None:
            return None
        if event.subsystem == "input" and _KEYBOARDS.fullmatch(event.device or ""):
            return None
        kind = ONLY_ONE.get(event.subsystem)
        found = self._by_kind.get(kind, []) if kind is not None else []
        return found[0] if len(found) == 1 else None

    def _by_id(self, name: str) -> str | None:
        """Places keep their ids when the part has gone from them."""
        for own in (f"usb:{name}", f"slot:{name}", f"mmc:{name}", f"dimm:{name}"):
            if own in self._places:
                return own
        return f"pci:{name}" if f"pci:{name}" in self._controllers else None


def _names(device: str) -> Iterator[str]:
    """Names to look up for a device, from the most exact to the widest."""
    yield device
    ata = re.fullmatch(r"ata(\d+)(?:\.(\d+))?", device)
    if ata:
        unit = int(ata[2] or 0)
        yield from (f"dev{ata[1]}.{unit}", f"link{ata[1]}", f"ata{ata[1]}")
    yield from _usb_names(device)
    disk = re.fullmatch(r"(sd[a-z]+|vd[a-z]+)\d+|((?:nvme\d+n|mmcblk)\d+)p\d+", device)
    if disk:
        yield disk[1] or disk[2]
    nvme = re.match(r"(nvme\d+)(?:n\d+)?", device)
    if nvme:
        yield from (nvme[1], f"{nvme[1]}n1")
    card = re.match(r"mmc(?:blk)?(\d+)", device)
    if card:
        yield from (f"mmcblk{card[1]}", f"mmc{card[1]}")
    function = re.fullmatch(r"([0-9a-f]{4}:)?([0-9a-f]{2}:[0-9a-f]{2})(\.[0-7])?", device)
    if function:
        # Some drivers leave out the domain, some the function.
        yield f"{function[1] or '0000:'}{function[2]}{function[3] or '.0'}"
        yield f"{function[1] or '0000:'}{function[2]}.0"


def _usb_names(device: str) -> Iterator[str]:
    """``usb1-port4`` and ``1-4-port2`` are ports: what is plugged there, then the hub."""
    root = re.fullmatch(r"usb(\d+)-port(\d+)", device)
    if root:
        yield from (f"{root[1]}-{root[2]}", f"usb{root[1]}")
    port = re.fullmatch(r"(\d+-[\d.]+)-port(\d+)", device)
    if port:
        yield from (f"{port[1]}.{port[2]}", port[1])
        yield from _hubs(port[1])
    hub = re.fullmatch(r"(\d+)-0", device)
    if hub:
        yield f"usb{hub[1]}"
    interface = re.fullmatch(r"(\d+-[\d.]+):\d+\.\d+", device)
    if interface:
        yield interface[1]
    yield from _hubs(device)


def _hubs(device: str) -> Iterator[str]:
    """``2-1.4.1`` never answered or is gone: it hangs at hub ``2-1.4``, that at ``2-1``."""
    while re.fullmatch(r"\d+-\d+(?:\.\d+)+", device):
        device = device.rpartition(".")[0]
        yield device
