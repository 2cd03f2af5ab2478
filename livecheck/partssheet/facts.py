"""What the runs know of the unit to order, under the names the table asks by."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from livecheck.partssheet.table import Trait
from livecheck.records import Case, Inventory, Part, Place, Record, Run, Value
from livecheck.topology.ids import ComponentId
from livecheck.wording import quantity, size, text

Facts = dict[str, Value]


def gather(case: Case, runs: Sequence[Run], kind: str, component: str | None) -> Facts:
    """Everything known, the latest run's word last. Values None are left out."""
    seen: Facts = {}
    for machine in (case.machine, *(run.inventory.machine for run in runs)):
        seen |= _fields("machine", machine)
    for run in runs:
        inventory = run.inventory
        part = _part(inventory, kind, component)
        if part is not None:
            seen |= _fields("part", part)
        place = _place(inventory, part, kind, component)
        if place is not None:
            seen |= _fields("place", place)
            seen["link"] = _link(place)
        seen |= _board(inventory)
        if part is not None:
            seen |= _of_part(part, place)
    return {name: value for name, value in seen.items() if value is not None}


def first(trait: Trait, seen: Facts) -> str | None:
    """The first of a trait's values that is known, in words; None: none is."""
    for name in trait.of:
        value = seen.get(name)
        if value is None or value == "":
            continue
        if trait.unit == "binary" and isinstance(value, int):
            return size(value, binary=True)
        unit = seen.get(trait.unit_from) if trait.unit_from else trait.unit
        return quantity(value, unit if isinstance(unit, str) else None)
    return None


def machine_name(case: Case, runs: Sequence[Run]) -> str:
    """Maker and model of the machine."""
    for machine in (*(run.inventory.machine for run in reversed(runs)), case.machine):
        if machine.named:
            return machine.named
    return text("identity.nameless")


def _fields(prefix: str, record: Record) -> Facts:
    """Plain values of a record and of the records and attributes in it, by their dotted names."""
    found: Facts = {}
    for name, value in msgspec.structs.asdict(record).items():
        if isinstance(value, Record):
            found |= _fields(f"{prefix}.{name}", value)
        elif isinstance(value, dict):
            found |= {f"{prefix}.{name}.{key}": one for key, one in value.items()}
        elif isinstance(value, str | int | float):
            found[f"{prefix}.{name}"] = value
    return found


def _part(inventory: Inventory, kind: str, component: str | None) -> Part | None:
    """The part at fault; else the only one of its kind."""
    same = [part for part in inventory.parts if part.kind == kind]
    for part in inventory.parts:
        if part.id == component:
            return part
    place = _place_of(inventory, kind, component)
    at = [part for part in same if part.place == place]
    return at[0] if at else same[0] if len(same) == 1 else None


def _place_of(inventory: Inventory, kind: str, component: str | None) -> str | None:
    """The place that a part without an identity of its own is known by."""
    ids = {str(ComponentId(kind=kind, place=place.id)): place.id for place in inventory.places}
    return ids.get(component or "")


def _place(
    inventory: Inventory, part: Part | None, kind: str, component: str | None
) -> Place | None:
    own = _place_of(inventory, kind, component)
    wanted = part.place if part is not None else own or component
    return next((place for place in inventory.places if place.id == wanted), None)


def _link(place: Place) -> str | None:
    if place.port_max_gbps is not None:
        return text("parts.sata-link", speed=quantity(place.port_max_gbps))
    speed, lanes = place.port_max_speed_gts, place.port_max_width
    if speed is None or lanes is None:
        return None
    return text("parts.pcie-link", speed=quantity(speed), lanes=quantity(lanes))


def _board(inventory: Inventory) -> Facts:
    """What the board bears: its graphics, its memory."""
    screens = [
        c.name
        for c in inventory.controllers
        if c.kind == "display-controller" and c.attributes.get("model") is not None
    ]
    slots = [place for place in inventory.places if place.kind == "memory-slot"]
    soldered = [p for p in inventory.parts if p.kind == "memory-module" and p.soldered]
    forms = sorted({slot.form for slot in slots if slot.form is not None})
    return {
        "display": ", ".join(screens) or None,
        # Firmware lists soldered memory like a module, so only a found one is told.
        "soldered-memory": text("value.yes") if soldered else None,
        "memory-slots": f"{len(slots)} ({', '.join(forms)})" if slots and forms else None,
    }


def _of_part(part: Part, place: Place | None) -> Facts:
    found: Facts = {}
    if part.kind == "drive":
        kind = place.kind if place is not None else ""
        found["drive-interface"] = (
            "NVMe" if part.nvme or (part.block or "").startswith("nvme")
            else "SATA" if kind == "sata-port" else None
        )  # fmt: skip
        printed = place.printed_name if place is not None else None
        found["drive-form"] = printed if printed is not None and "M.2" in printed else None
    if part.kind == "wireless-card" and part.pci:
        found["card-interface"] = "PCIe"
    if part.data_bits is not None and part.total_bits is not None:
        found["ecc"] = text("value.yes" if part.total_bits > part.data_bits else "value.no")
    return found
