"""Which component a kernel message's device belongs to.

The kernel names the same thing in many ways (``ata3.00``, ``sd 2:0:0:0``, ``sda``); each
is looked up among the devices of the inventory, from the most exact name to the
place around it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import msgspec

from livecheck.records import Inventory, KernelEvent


def attach(found: Sequence[KernelEvent], inventory: Inventory) -> tuple[KernelEvent, ...]:
    """The events with their components filled in where the inventory knows the device.

    An event at a place is given to the part in it, so that the whole path is on trial.
    """
    lookup = Lookup(inventory)
    return tuple(
        msgspec.structs.replace(event, component=lookup.component(event.device)) for event in found
    )


class Lookup:
    """The components of an inventory by the kernel's names of their devices."""

    def __init__(self, inventory: Inventory) -> None:
        self._by_name: dict[str, str] = {}
        for device in inventory.devices:
            if device.component is not None:
                self._by_name.setdefault(device.name, device.component)
                if device.number is not None:
                    self._by_name.setdefault(f"b{device.number}", device.component)
        self._places = {place.id for place in inventory.places}
        self._controllers = {controller.id for controller in inventory.controllers}
        self._part_in = {part.place: part.id for part in reversed(inventory.parts)}

    def component(self, device: str | None) -> str | None:
        """Id of the component that a device of a kernel message belongs to."""
        if device is None:
            return None
        for name in _names(device):
            found = self._by_name.get(name) or self._by_id(name)
            if found is not None:
                return self._part_in.get(found, found)
        return None

    def _by_id(self, name: str) -> str | None:
        """Places keep their ids when the part has gone from them."""
        for own in (f"usb:{name}", f"slot:{name}", f"mmc:{name}"):
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
    function = re.fullmatch(r"([0-9a-f]{4}:[0-9a-f]{2}:[0-9a-f]{2})\.[1-7]", device)
    if function:
        yield f"{function[1]}.0"


def _usb_names(device: str) -> Iterator[str]:
    """``usb1-port4`` and ``1-4-port2`` are ports: what is plugged there, then the hub."""
    root = re.fullmatch(r"usb(\d+)-port(\d+)", device)
    if root:
        yield from (f"{root[1]}-{root[2]}", f"usb{root[1]}")
    port = re.fullmatch(r"(\d+-[\d.]+)-port(\d+)", device)
    if port:
        yield from (f"{port[1]}.{port[2]}", port[1])
    hub = re.fullmatch(r"(\d+)-0", device)
    if hub:
        yield f"usb{hub[1]}"
    interface = re.fullmatch(r"(\d+-[\d.]+):\d+\.\d+", device)
    if interface:
        yield interface[1]
