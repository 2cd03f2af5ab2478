"""Which guided checks a machine has the hardware for, and their state machines."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator
from functools import partial
from typing import Final

import msgspec

from livecheck.guided import (
    ask,
    camera,
    hinge,
    keyboard,
    pad,
    pointer,
    ports,
    present,
    sound,
    wait_for_change,
)
from livecheck.guided.rows import GuidedTable, GuideOffer, GuideTarget, Need
from livecheck.guided.steps import Guide
from livecheck.records import Complaint, Device, InputFacts, Inventory, Knowledge, Part, Place

GUIDES: Final[dict[str, Callable[[GuideOffer, Knowledge], Guide]]] = {
    "question": ask.Question,
    "display": ask.Display,
    "backlight": ask.Backlight,
    "pad": pad.Pad,
    "pointer": pointer.Pointer,
    "ports": ports.Ports,
    "cards": ports.Cards,
    "cable": wait_for_change.Cable,
    "lid": wait_for_change.Lid,
    "hinge": hinge.Hinge,
    "sensor": wait_for_change.Sensor,
    "clock": wait_for_change.Clock,
    "speakers": sound.Speakers,
    "microphone": sound.Microphone,
    "camera": camera.Camera,
    "present": present.Present,
}
"""Name in the table -> state machine; the keyboard's wants its drawing too."""


def offered(
    inventory: Inventory, table: GuidedTable, named: Collection[str] = ()
) -> tuple[GuideOffer, ...]:
    """The checks whose hardware is there, in the table's order; all others cost nothing.

    ``named``: ids of places that the shop has named.
    """
    offers: list[GuideOffer] = []
    for row in table.check:
        found = {t.component + (t.path or ""): t for n in row.needs for t in _targets(n, inventory)}
        targets = tuple(
            msgspec.structs.replace(t, called=t.component in named) for t in found.values()
        )
        if row.each:
            offers += [GuideOffer(row=row, targets=(target,)) for target in targets]
        elif targets:
            offers.append(GuideOffer(row=row, targets=targets))
    return tuple(offers)


def at_hand_over(offers: Iterable[GuideOffer], complaint: Complaint) -> tuple[GuideOffer, ...]:
    """Those that a machine is handed over by: what looks for one complaint is for that alone."""
    return tuple(o for o in offers if not o.row.complaints or complaint in o.row.complaints)


def open_guide(offer: GuideOffer, knowledge: Knowledge, table: GuidedTable) -> Guide:
    """The state machine of an offered check, ready to start."""
    if offer.row.guide == "keyboard":
        return keyboard.Keyboard(offer, knowledge, table.keys)
    return GUIDES[offer.row.guide](offer, knowledge)


def _targets(need: Need, inventory: Inventory) -> Iterator[GuideTarget]:
    if need.device is not None:
        owners = _names(inventory)
        yield from (_of_device(d, owners) for d in inventory.devices if _fits_device(need, d))
    elif need.part is not None:
        yield from (_of_part(p, inventory) for p in inventory.parts if _fits_part(need, p))
    elif need.place is not None:
        yield from (_of_place(p) for p in inventory.places if _fits_place(need, p))


def _names(inventory: Inventory) -> dict[str, str]:
    names = {c.id: c.name for c in inventory.controllers}
    names |= {p.id: p.name for p in inventory.places}
    return names | {p.id: p.name for p in inventory.parts}


def _has(device: Device, need: Need) -> bool:
    return all(getattr(device.facts, name, None) == value for name, value in need.having.items())


def _fits_device(need: Need, device: Device) -> bool:
    words = f"{device.name} {device.description or ''}"
    return (
        device.subsystem == need.device
        and _has(device, need)
        and _named(need, words)
    )  # fmt: skip


def _fits_part(need: Need, part: Part) -> bool:
    words = " ".join(w for w in (part.name, part.vendor, part.model) if w)
    return part.kind == need.part and _named(need, words)


def _fits_place(need: Need, place: Place) -> bool:
    good = need.external is None or place.external == need.external
    return place.kind == need.place and good


def _named(need: Need, words: str) -> bool:
    return need.named is None or re.search(need.named, words) is not None


def _of_device(device: Device, owners: dict[str, str]) -> GuideTarget:
    component = device.component or "machine"
    return GuideTarget(
        component=component,
        name=owners.get(component) or device.description or device.name,
        device=device.name,
        path=device.path,
        facts=device.facts,
        attributes=device.attributes,
    )


def _of_part(part: Part, inventory: Inventory) -> GuideTarget:
    """A part, with the input or display device that shows what it does."""
    own = [d for d in inventory.devices if d.component == part.id]
    own += [d for d in inventory.devices if d.name == part.sound_card]
    device = next(filter(partial(_shows, part.kind), own), own[0] if own else None)
    return GuideTarget(
        component=part.id,
        name=part.name,
        device=device.name if device else None,
        path=device.path if device else None,
        facts=part.screen,
        attributes=part.attributes,
    )


def _shows(kind: str, device: Device) -> bool:
    if kind == "keyboard":
        return isinstance(device.facts, InputFacts) and device.facts.kind == "keyboard"
    return kind == "panel" and device.subsystem == "drm"


def _of_place(place: Place) -> GuideTarget:
    return GuideTarget(component=place.id, name=place.name, place=place)
