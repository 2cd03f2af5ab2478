"""What the finders of the inventory hand in, and what they may build on.

Every finder is a function ``find(host: Host, seen: Seen) -> Contribution``. It
never raises: what it could not read is a sentence in ``gaps``. The finders run
in a fixed order (PCI, USB, ATA, NVMe, MMC, block, then all the others), and each
sees through ``Seen`` what those before it handed in.

A finder may hand in a component or a device that an earlier one has handed in
already, under the same id: the first one stays, the fields it left ``None`` (and
``Presence.UNKNOWN``) are filled from the later one, and attributes are added.
So a finder that knows a slot's printed name or a card's radio state adds just that.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

import msgspec

from livecheck.host import UdevDevice
from livecheck.inventory.ids import IdDatabase
from livecheck.inventory.smbios_types import Tables
from livecheck.records import (
    Controller,
    Device,
    DeviceFacts,
    Machine,
    Part,
    Place,
    Presence,
    Record,
    Value,
)
from livecheck.topology.identity import believable


class Contribution(Record, frozen=True, kw_only=True):
    """What one finder found."""

    machine: Machine | None = None
    controllers: tuple[Controller, ...] = ()
    places: tuple[Place, ...] = ()
    parts: tuple[Part, ...] = ()
    devices: tuple[Device, ...] = ()
    gaps: tuple[str, ...] = ()


class Seen:
    """What the finders so far handed in, by id and by path in sysfs."""

    def __init__(self, names: IdDatabase | None = None, tables: Tables | None = None) -> None:
        self.names = names if names is not None else IdDatabase()
        """Names of vendors and devices by the ID databases."""
        self.tables = tables
        """The firmware's SMBIOS table, read once for all; None: there is none to be read."""
        self.machine: Machine | None = None
        self.controllers: dict[str, Controller] = {}
        self.places: dict[str, Place] = {}
        self.parts: dict[str, Part] = {}
        self.devices: dict[tuple[str, str], Device] = {}
        """By (subsystem, name)."""
        self.gaps: list[str] = []
        self._by_path: dict[str, str | None] = {}

    def add(self, found: Contribution) -> None:
        """Take in what a finder handed in."""
        if found.machine is not None:
            self.machine = _fill(self.machine, found.machine)
        _take(self.controllers, found.controllers)
        _take(self.places, found.places)
        _take(self.parts, found.parts)
        for device in found.devices:
            key = (device.subsystem, device.name)
            self.devices[key] = _fill(self.devices.get(key), device)
            if self._by_path.get(device.path) is None:
                self._by_path[device.path] = device.component
        self.gaps.extend(found.gaps)

    def owner(self, path: str | None) -> str | None:
        """Id of the component that the device at this sysfs path belongs to.

        The nearest device above it whose component is known decides: the
        interface ``…/0000:02:00.0/net/wlan0`` belongs to the card that function
        0000:02:00.0 is on. None when nothing above it is known.
        """
        while path and path != "/":
            component = self._by_path.get(path)
            if component is not None:
                return component
            path = path.rpartition("/")[0]
        return None

    def controller_of(self, component: str | None) -> str | None:
        """Id of the controller that a part, place or controller hangs on (or is)."""
        if component in self.parts:
            component = self.parts[component].place
        if component in self.places:
            component = self.places[component].controller
        return component if component in self.controllers else None

    def part_in(self, place: str) -> Part | None:
        """The part in a place; the first one when there are several."""
        return next((p for p in self.parts.values() if p.place == place), None)

    def slot_of(self, address: str) -> str | None:
        """Id of the place that the firmware's slot table means by this PCI address.

        Firmware names either the port above the slot or the function in it; both
        are understood. None when no place is known for it.
        """
        if f"slot:{address}" in self.places:
            return f"slot:{address}"
        device = self.devices.get(("pci", address))
        component = device.component if device is not None else None
        if component in self.parts:
            return self.parts[component].place
        for place in self.places.values():
            if place.secondary_bus == address.rpartition(":")[0]:
                return place.id
        return None


_C = TypeVar("_C", Controller, Place, Part)
_R = TypeVar("_R", bound=Record)


def _take(known: dict[str, _C], found: Iterable[_C]) -> None:
    for component in found:
        known[component.id] = _fill(known.get(component.id), component)


def _fill(first: _R | None, later: _R) -> _R:
    """The first record with its unknown fields filled from the later one."""
    if first is None:
        return later
    changes: dict[str, object] = {}
    for field in first.__struct_fields__:
        ours, theirs = getattr(first, field), getattr(later, field)
        if field == "attributes":
            changes[field] = {**theirs, **{k: v for k, v in ours.items() if v is not None}}
        elif ours is None or ours is Presence.UNKNOWN:
            changes[field] = theirs
        elif isinstance(ours, Record) and isinstance(theirs, type(ours)):
            changes[field] = _fill(ours, theirs)
    return msgspec.structs.replace(first, **changes)


def device_of(
    found: UdevDevice,
    component: str | None,
    description: str | None = None,
    facts: DeviceFacts | None = None,
    attributes: dict[str, Value] | None = None,
) -> Device:
    """The inventory's record of a device of the udev database.

    A device with a node carries its number, as the kernel's log names it.
    """
    node = [found.properties.get(name) for name in ("MAJOR", "MINOR")]
    number = None if None in node else f"{node[0]}:{node[1]}"
    return Device(
        subsystem=found.subsystem,
        name=found.name,
        path=found.path,
        component=component,
        driver=found.driver,
        description=description,
        number=number,
        facts=facts,
        attributes=known(attributes or {}),
    )


def known(attributes: dict[str, Value]) -> dict[str, Value]:
    """Attributes without those that are not known."""
    return {name: value for name, value in attributes.items() if value is not None}


def identity(kind: str, value: str | None) -> str | None:
    """``serial:X`` / ``wwn:X`` / ``mac:X``, or None when the value identifies nothing."""
    cleaned = " ".join((value or "").split())
    return f"{kind}:{cleaned}" if believable(cleaned) else None


def part_id(kind: str, identified_by: str | None, place: str) -> str:
    """Id of a part: by what identifies it, else by the place it was seen in."""
    if identified_by is None:
        return f"{kind}@{place}"
    return f"{kind}:{identified_by.partition(':')[2]}"
