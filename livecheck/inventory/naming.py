"""Names that a hand can find, once everything is enumerated. Pure.

A finder names a place by the bus that told of it; whoever holds a screwdriver knows neither
ports of a bus nor functions of a chipset. Here a slot is called by what goes into it and by
what is printed beside it, a socket by its side; places that still are called alike are
counted, in the order of their wiring, which is the same in every machine of a model. The
addresses stay in ids and facts.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from itertools import accumulate
from typing import Final, TypeVar

import msgspec

from livecheck.records import Controller, Inventory, Machine, Part, Place

Named = TypeVar("Named", Part, Controller, Machine)
MOST: Final = 52
"""What leaves "at fault" and its share on the same line of 80 columns; ATA allows a model 40 (ACS),
NVMe as many."""
SPELT_OUT: Final = len("[U+10FFFF]")
MACHINE_NAMES: Final = ("vendor", "product", "version", "board_vendor", "board_product",
                        "board_version", "firmware_vendor", "firmware_version",
                        "processor")  # fmt: skip

_NO_MODEL: Final = re.compile(r"(USB device|PCI function) [0-9a-f]{4}:[0-9a-f]{4}$|radio \w+$")
_WIRED: Final = re.compile(r" \((?:pci:)?[^()]*\)$")
_PLAIN: Final = {
    "battery-bay": "battery bay",
    "panel-connector": "panel connector",
    "card-slot": "SD card slot",
}
"""Places that need no more than their kind, as long as there is one of it."""


def named(found: Inventory) -> Inventory:
    """The inventory with names of places and parts that say where and what, none too long."""
    parts = tuple(bounded(_part(part), ("name", "vendor", "model", "firmware"))
                  for part in found.parts)  # fmt: skip
    fitted = {part.place: part for part in parts}
    names = [_place(place, fitted.get(place.id)) for place in found.places]
    many, seen = Counter(names), Counter[str]()
    places = []
    for place, name in zip(found.places, names, strict=True):
        seen[name] += 1
        own = f"{short(name)} {seen[name]}" if many[name] > 1 else short(name)
        places.append(msgspec.structs.replace(place, name=own))
    controllers = tuple(bounded(_controller(one), ("name",)) for one in found.controllers)
    return msgspec.structs.replace(
        found,
        machine=bounded(found.machine, MACHINE_NAMES),
        controllers=controllers,
        parts=parts,
        places=tuple(places),
    )


def bounded(record: Named, fields: Iterable[str]) -> Named:
    """The record with texts that leave room for a verdict beside them: devices tell anything."""
    told = {field: getattr(record, field) for field in fields}
    cut = {field: short(words) for field, words in told.items() if words}
    return msgspec.structs.replace(record, **cut)


def short(name: str) -> str:
    """A name of ``MOST`` characters at most, once those that hide are spelt out."""
    widths = list(accumulate(1 if char.isprintable() else SPELT_OUT for char in name))
    if not widths or widths[-1] <= MOST:
        return name
    return f"{name[: sum(width < MOST for width in widths)]}…"


def _controller(controller: Controller) -> Controller:
    """Graphics of which no database tells the model; other classes' names say what they are."""
    if controller.kind == "display-controller" and controller.attributes.get("model") is None:
        return msgspec.structs.replace(controller, name="graphics circuit")
    return controller


def _part(part: Part) -> Part:
    """A part of which no database tells the model is called as it calls itself, or by its kind."""
    unknown = part.pci is not None and part.model is None
    if part.usb and part.model and part.model.strip() and _NO_MODEL.match(part.name):
        return msgspec.structs.replace(part, name=part.model.strip())
    if unknown or _NO_MODEL.match(part.name):
        return msgspec.structs.replace(part, name=_words(part.kind).replace("usb", "USB"))
    return part


def _place(place: Place, part: Part | None) -> str:
    if place.kind == "pcie-slot":
        goes = part.kind if part is not None else place.expects
        name = f"{_words(goes)} slot" if goes else "empty card slot"
        return f"{name} ({place.printed_name})" if place.printed_name else name
    if place.kind == "usb-port":
        return _usb(place, part)
    if place.kind == "power-jack":
        return "USB-C power jack" if place.name.startswith("USB-C") else "power jack"
    if place.kind == "internal-connector":
        return "radio of the board" if place.name.startswith("radio") else _bare(place.name)
    return _PLAIN.get(place.kind, place.name)


def _usb(place: Place, part: Part | None) -> str:
    """A socket by its side, what is inside by what hangs on it."""
    side = place.attributes.get("where")
    if place.external:
        return f"USB port ({side})" if isinstance(side, str) else "USB port"
    return f"{_words(part.kind)} connector" if part is not None else "USB port"


def _words(kind: str | None) -> str:
    return (kind or "").replace("-", " ")


def _bare(name: str) -> str:
    """Without the address that a finder put behind it."""
    return _WIRED.sub("", name)
