"""What the firmware's slot table says of the card slots (DMTF DSP0134 7.10, type 9).

It names a slot as it is printed on the board and tells its connector, which says more of
what is in it than the function's own class: a wireless card may call itself an Ethernet
controller, and then nothing but its slot tells it from a chip soldered to the board
(common practice, no source).
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.inventory.smbios_types import CardSlot, Tables
from livecheck.inventory.tree import Seen, known
from livecheck.records import Place

WIRELESS: Final = "wireless-card"
_CONNECTORS: Final = {0x14: WIRELESS, 0x15: WIRELESS, 0x17: "drive"}
"""M.2 sockets 1 with keys A and E, and socket 3 (DSP0134 7.10.1)."""


def made_for(slot: CardSlot) -> str | None:
    """Kind of part a slot is made for: by its printed name, else by its M.2 key.

    Key A and E are for wireless cards, key M is for drives (DSP0134 slot types; the
    use of the keys is common practice, no source).
    """
    name = slot.name or ""
    if re.search(r"wi-?fi|wlan|wireless|wwan", name, re.IGNORECASE):
        return WIRELESS
    if re.search(r"ssd|nvme", name, re.IGNORECASE):
        return "drive"
    return _CONNECTORS.get(slot.kind or 0)


def address(slot: CardSlot) -> str | None:
    """PCI address the table gives a slot, as ``0000:02:00.0``; None where it gives none.

    Firmware names either the port above the slot or the function in it.
    """
    if slot.segment is None or slot.bus is None or slot.devfn is None:
        return None
    return f"{slot.segment:04x}:{slot.bus:02x}:{slot.devfn >> 3:02x}.{slot.devfn & 7:x}"


def radio_slots(found: Tables | None) -> frozenset[str]:
    """PCI addresses that the table gives slots made for wireless cards."""
    listed = found.slots if found is not None else ()
    told = (address(slot) for slot in listed if made_for(slot) == WIRELESS)
    return frozenset(one for one in told if one is not None)


def named(found: Tables, seen: Seen) -> tuple[Place, ...]:
    """Slots that PCI knows, with the name printed beside them and the firmware's view."""
    places = []
    for slot in found.slots:
        told = address(slot)
        place = seen.slot_of(told) if told is not None else None
        if place in seen.places:
            first = seen.places[place]
            places.append(
                Place(
                    id=place,
                    kind=first.kind,
                    name=first.name,
                    expects=made_for(slot),
                    printed_name=slot.name,
                    attributes=known({"in_use_by_firmware": slot.in_use}),
                )
            )
    return tuple(places)
