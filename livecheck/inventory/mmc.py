"""SD card slots and soldered flash: MMC hosts and what answers on them.

The kernel does not show a slot's card-detect switch, so a host without a card
is a slot of unknown presence.
"""

from __future__ import annotations

from typing import Final

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory.tree import Contribution, Seen, device_of, identity, known, part_id
from livecheck.records import Part, Place, Presence

KINDS: Final = {"MMC": "drive", "SD": "sd-card", "SDIO": "wireless-card", "SDcombo": "sd-card"}
"""``type`` of a card (Documentation/driver-api/mmc/mmc-dev-attrs.rst) -> kind of part."""


def find(host: Host, seen: Seen) -> Contribution:
    """Hosts as places, cards as parts; an MMC device is flash soldered to the board."""
    cards = {d.name.partition(":")[0]: d for d in host.udev("mmc")}
    places, parts, devices = [], [], []
    for slot in host.udev("mmc_host"):
        card = cards.get(slot.name)
        part = _part(host, card, f"mmc:{slot.name}") if card else None
        controller = seen.controller_of(seen.owner(slot.path))
        places.append(_place(slot, part, controller))
        devices.append(device_of(slot, f"mmc:{slot.name}"))
        if card is not None and part is not None:
            parts.append(part)
            devices.append(device_of(card, part.id, part.name))
    return Contribution(places=tuple(places), parts=tuple(parts), devices=tuple(devices))


def _place(slot: UdevDevice, part: Part | None, controller: str | None) -> Place:
    inside = part is not None and part.soldered
    return Place(
        id=f"mmc:{slot.name}",
        kind="internal-connector" if inside else "card-slot",
        name=f"flash on the board ({slot.name})" if inside else f"SD card slot ({slot.name})",
        controller=controller,
        presence=Presence.SEEN if part is not None else Presence.UNKNOWN,
        external=not inside,
    )


def _part(host: Host, card: UdevDevice, place: str) -> Part:
    sort = hosts.text(host, f"{card.path}/type")
    kind = KINDS.get(sort or "", "sd-card")
    # A card's serial is 32 bits and only unique for its maker: the whole CID is.
    identified_by = identity("serial", hosts.text(host, f"{card.path}/cid"))
    name = hosts.text(host, f"{card.path}/name")
    return Part(
        id=part_id(kind, identified_by, place),
        kind=kind,
        name=f"{sort or 'card'} {name}" if name else sort or "card",
        place=place,
        identity=identified_by,
        model=name,
        serial=hosts.text(host, f"{card.path}/serial"),
        firmware=hosts.text(host, f"{card.path}/fwrev"),
        soldered=kind in ("drive", "wireless-card"),
        attributes=known({"maker_id": hosts.text(host, f"{card.path}/manfid"), "mmc": card.name}),
    )
