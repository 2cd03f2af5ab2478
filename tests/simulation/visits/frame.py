"""The tree of controllers, places and parts as the bench's stick sees it, and ids in it."""

from __future__ import annotations

import random
from typing import Final

from livecheck.records import Controller, Inventory, Machine, Part, Place, Presence
from tests.simulation.visits.laptop import (
    ATA,
    BAY,
    CAMERA,
    CELL,
    COOLING,
    DIMMS,
    JACK,
    KEYBOARD,
    MICROPHONE,
    NVME,
    PANEL,
    SPEAKER,
    TAKES,
    TOUCHPAD,
    USB,
    WLAN,
    Laptop,
)  # fmt: skip
from tests.simulation.visits.physics import answers

SATA_CHIP: Final = "pci:0000:00:17.0"
USB_CHIP: Final = "pci:0000:00:14.0"
GRAPHICS: Final = "pci:0000:00:02.0"
SOUND: Final = "pci:0000:00:1f.3"
CHIPS: Final = {
    GRAPHICS: "display-controller",
    USB_CHIP: "usb-controller",
    "pci:0000:00:1c.0": "pcie-root-port",
    "pci:0000:00:1d.0": "pcie-root-port",
    SATA_CHIP: "sata-controller",
    SOUND: "sound-controller",
    "memory-controller": "memory-controller",
    "power-controller": "power-controller",
}
PLACES: Final = {
    WLAN: ("pcie-slot", "pci:0000:00:1c.0"),
    NVME: ("pcie-slot", "pci:0000:00:1d.0"),
    **dict.fromkeys(ATA, ("sata-port", SATA_CHIP)),
    **dict.fromkeys((*USB, CAMERA), ("usb-port", USB_CHIP)),
    **dict.fromkeys(DIMMS, ("memory-slot", "memory-controller")),
    JACK: ("power-jack", "power-controller"),
    BAY: ("battery-bay", "power-controller"),
    COOLING: ("cooling-mount", None),
    PANEL: ("panel-connector", GRAPHICS),
    CELL: ("internal-connector", None),
    KEYBOARD: ("internal-connector", None),
    TOUCHPAD: ("internal-connector", None),
    SPEAKER: ("internal-connector", SOUND),
    MICROPHONE: ("internal-connector", SOUND),
}
SHEET_PLACES: Final = {
    "dimm:1": DIMMS[0], "panel:internal": PANEL, "connector:coin-cell": CELL,
}  # fmt: skip
"""The worksheet's words for places of a machine that cannot be read; all its modules are one."""
ALWAYS: Final = (JACK, COOLING, CELL, SPEAKER, MICROPHONE)
"""Places whose part is listed whether it answers or not: nothing asks it."""
BOARD_SLOTS: Final = (*ATA, NVME, WLAN)


def part_id(laptop: Laptop, place: str) -> str | None:
    """Id of what is in a place; None: nothing is."""
    piece = laptop.fitted(place)
    if piece is None:
        return None
    kind = TAKES[place]
    return f"{kind}:{piece.serial}" if piece.named else f"{kind}@{place}"


def at_place(laptop: Laptop, target: str) -> str | None:
    """The place that a component's id speaks of: its own, its part's, or where that came from."""
    if target in TAKES:
        return target
    sheet = target.rpartition("@")[2]
    if sheet in SHEET_PLACES:
        return SHEET_PLACES[sheet]
    # Of a part that no bus ever told of the program names a plug by its kind alone.
    kind = target.rpartition("internal:")[2] if "internal:" in target else ""
    if kind in TAKES.values() and f"internal:{kind}" not in TAKES:
        return next((p for p in TAKES if TAKES[p] == kind and p in laptop.home), None)
    for place in TAKES:
        if part_id(laptop, place) == target or target.split(" (")[0].endswith(f"@{place}"):
            return place
        if target.endswith(f":{place}"):
            return place
    return next((p for p, serial in laptop.home.items() if target.endswith(f":{serial}")), None)


def listed(laptop: Laptop, place: str) -> bool:
    """Whether a run's tree has the part."""
    if place not in laptop.pieces:
        return False
    if place in ALWAYS:
        return True
    return answers(laptop, place)


def presence(laptop: Laptop, place: str) -> Presence:
    """What the hardware says of a place."""
    if place in (COOLING, *USB, CELL, SPEAKER, MICROPHONE):
        return Presence.UNKNOWN
    if listed(laptop, place):
        return Presence.SEEN
    piece = laptop.fitted(place)
    if piece is None or place in DIMMS or laptop.joints[place].open or place == BAY:
        return Presence.EMPTY
    # Most dead cards still pull the pin that tells of them (assumed).
    senses = random.Random(piece.serial).random() < 0.75
    return Presence.NOTHING_ANSWERS if senses and place in BOARD_SLOTS else Presence.EMPTY


def _has(laptop: Laptop, place: str) -> bool:
    if place == ATA[1]:
        return ATA[0] in laptop.home
    if place in (ATA[0], NVME):
        return place in laptop.home or place in laptop.pieces
    # What answers by events alone leaves no place when it is silent.
    return place not in (KEYBOARD, TOUCHPAD) or listed(laptop, place)


def _part(laptop: Laptop, place: str) -> Part:
    piece, own = laptop.pieces[place], part_id(laptop, place)
    assert own is not None
    return Part(
        id=own,
        kind=TAKES[place],
        name=TAKES[place].replace("-", " "),
        place=place,
        identity=f"serial:{piece.serial}" if piece.named else None,
        serial=piece.serial if piece.named else None,
    )


def inventory(laptop: Laptop) -> Inventory:
    """One configuration."""
    chips = [c for c in CHIPS if c != SATA_CHIP or ATA[0] in laptop.home]
    chips = [c for c in chips if c != "pci:0000:00:1d.0" or NVME in laptop.home]
    places = [
        Place(
            id=place, kind=kind, name=place, controller=chip, presence=presence(laptop, place),
            external=place in USB, expects=TAKES.get(place),
        )
        for place, (kind, chip) in PLACES.items() if _has(laptop, place)
    ]  # fmt: skip
    processor = Part(id="processor@socket:U1", kind="processor", name="processor",
                     place="socket:U1", soldered=True)  # fmt: skip
    socket = Place(id="socket:U1", kind="processor-socket", name="processor place",
                   presence=Presence.SEEN, expects="processor")  # fmt: skip
    board = f"{laptop.home.get(WLAN, 'X')}-{laptop.number}"
    return Inventory(
        machine=Machine(vendor="Invented", product="Wander 15", serial=laptop.home.get(WLAN),
                        board_vendor="Invented", board_product="W15", board_serial=board),
        controllers=tuple(Controller(id=c, kind=CHIPS[c], name=CHIPS[c]) for c in chips),
        places=(*places, socket),
        parts=(*(_part(laptop, p) for p in TAKES if listed(laptop, p)), processor),
    )  # fmt: skip
