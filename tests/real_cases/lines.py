"""Whether a line was read as what it is, and given to the component it speaks of."""

from __future__ import annotations

import re

from livecheck import kernel_log
from livecheck.host import KernelMessage
from livecheck.records import Inventory, KernelEvent
from tests.real_cases.cases import ExpectedLine

MACHINE_KINDS = frozenset({"machine", "mainboard", "firmware", "tpm"})
"""Kinds that are no component of their own: what is blamed is the whole machine's."""


def read(lines: tuple[ExpectedLine, ...], found: Inventory) -> list[KernelEvent | None]:
    """The event of each line, read in the order of the log; None: it was passed over."""
    messages = [KernelMessage(line.seconds, line.priority, line.text) for line in lines]
    events = kernel_log.attach(kernel_log.events(messages), found)
    left = list(events)
    told: list[KernelEvent | None] = []
    for line in lines:
        own = next((event for event in left if event.raw == line.text), None)
        if own is not None:
            left.remove(own)
        told.append(own)
    return told


def layer_right(line: ExpectedLine, event: KernelEvent | None) -> bool:
    """Right layer, and serious where it must be; a line left unknown is never right."""
    quiet = event is None or not event.serious
    if event is not None and event.says == kernel_log.UNKNOWN:
        return False
    if "noise" in line.layers:
        return quiet and (event is None or not kernel_log.unknown([event]))
    if event is None:
        return "other" in line.layers and line.serious is not True
    if line.serious is not None and event.serious is not line.serious:
        return False
    return event.layer in line.layers


def place_right(line: ExpectedLine, event: KernelEvent | None, found: Inventory) -> bool:
    """Given to the place or kind expected, or to the part that sits or hangs there."""
    if event is None or line.place is None or "noise" in line.layers:
        return True
    own = event.component
    wanted = _at(line.place, found)
    if wanted is not None:
        return own in wanted
    kinds = {part.id: part.kind for part in found.parts}
    kinds |= {place.id: place.kind for place in found.places}
    kinds |= {controller.id: controller.kind for controller in found.controllers}
    if line.place in MACHINE_KINDS:
        return own is None or kinds.get(own, own) in (*MACHINE_KINDS, "memory-controller")
    in_place = {part.id: part.place for part in found.parts}
    held = {d.component for d in found.devices if d.subsystem == "usb"} & in_place.keys()
    return line.place in (kinds.get(own or ""), kinds.get(in_place.get(own or "", ""))) or (
        line.place == "usb-port" and own in held
    )


def _at(place: str, found: Inventory) -> set[str] | None:
    """Ids that a place of the storage cases may mean; None for a kind of component."""
    port = re.fullmatch(r"ata(\d+)", place)
    if port:
        return _with_part(f"ata:0000:00:17.0:{port[1]}", found)
    if place == "nvme":
        return {d.component or "" for d in found.devices if d.subsystem == "nvme"}
    if re.fullmatch(r"mmc\d+", place):
        return _with_part(f"mmc:{place}", found)
    if place.startswith("usb:"):
        return _with_part(place, found)
    if place.startswith("pci:"):
        slot = place.replace("pci:", "slot:")
        return {place, *_with_part(slot, found)}
    return None


def _with_part(place: str, found: Inventory) -> set[str]:
    return {place, *(part.id for part in found.parts if part.place == place)}
