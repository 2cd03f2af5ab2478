"""Invented laptops: which part sits in which place.

A place is named as the wiring is (``ata:1``, ``m2:0``, ``dimm:1``, ``jack``, ``bay``); a
part by a name of its own. A fault says where it sits, a place or a part, so that it stays
or follows by itself when parts are swapped between two starts.
"""

from __future__ import annotations

from typing import Final

import msgspec

AHCI: Final = "0000:00:1f.2"
"""Where the emulated chipset has its SATA controller."""
ROOT_PORTS: Final = ("0000:00:1c.0", "0000:00:1c.1")
MODULE_SLOTS: Final = ("DIMM A", "DIMM B")


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """Anything fitted that can be swapped."""

    name: str


class Drive(Part, frozen=True, kw_only=True):
    serial: str
    model: str = "Fennel D2"
    mib: int = 256


class Optical(Part, frozen=True, kw_only=True):
    model: str = "Fennel Tray"
    disc: bool = True
    """A pressed disc of 64 MiB lies in the tray."""


class Card(Part, frozen=True, kw_only=True):
    """A card for a slot; stands in for a wireless card, which QEMU has none of."""

    mac: str = "52:54:00:6c:76:01"


class Module(Part, frozen=True, kw_only=True):
    serial: str
    mib: int = 512
    maker: str = "Quillon"


class Adapter(Part, frozen=True, kw_only=True):
    watts: int = 65


class Battery(Part, frozen=True, kw_only=True):
    serial: str = "7731"
    design_mwh: int = 50_000
    full_mwh: int = 47_500
    cycles: int = 61
    design_mv: int = 11_400


class Cooling(Part, frozen=True, kw_only=True):
    pass


class Laptop(msgspec.Struct, frozen=True, kw_only=True):
    """The board and what is fitted; parts change between starts, the board does not."""

    product: str = "Larkhollow Tern 14"
    maker: str = "Larkhollow"
    serial: str = "LH-55120"
    board: str = "TERN14-MB"
    board_serial: str = "LHB-90817"
    uuid: str = "6f1d3c52-8c0e-4d7a-9b31-5a0e7c94d218"
    fitted: dict[str, Part]
    """Place -> part."""

    def swapped(self, **changes: Part | None) -> Laptop:
        """The same board with other parts; ``ata_1`` stands for the place ``ata:1``."""
        fitted = dict(self.fitted)
        for key, part in changes.items():
            place = key.replace("_", ":")
            if part is None:
                fitted.pop(place, None)
            else:
                fitted[place] = part
        return msgspec.structs.replace(self, fitted=fitted)

    def parts(self, prefix: str) -> list[tuple[str, Part]]:
        """Places of one sort that hold something, with what they hold."""
        return [(p, part) for p, part in sorted(self.fitted.items()) if p.startswith(prefix)]


def place_id(place: str) -> str:
    """What the program under test calls this place."""
    sort, _, number = place.partition(":")
    match sort:
        case "ata":
            return f"ata:{AHCI}:{int(number) + 1}"
        case "m2":
            return f"slot:{ROOT_PORTS[int(number)]}"
        case "dimm":
            return f"dimm:{MODULE_SLOTS[int(number)]}"
        case "jack":
            return "jack:ADP1"
        case "bay":
            return "bay:BAT0"
    return place
