"""Which PCI functions make a part that can be swapped, and which belong to the board.

On a laptop's board all bridges and nearly all functions are soldered; what is
swapped sits in a slot behind a root port: a drive or a wireless card (and, in a
desktop case, any card). A wireless card may also show up as a function of the
chipset itself, with only its radio half in the slot; it is a part all the same.
That is common practice, no source.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.inventory import slots
from livecheck.inventory.ids import IdDatabase
from livecheck.inventory.pci_function import PciFunction
from livecheck.records import Record

BENCH_CASES: Final = frozenset({3, 4, 5, 6, 7, 15, 16, 17, 23, 24})
"""SMBIOS chassis types with slots for cards: desktop, tower and server shapes (DSP0134 7.4.1)."""


class CardSigns(Record, frozen=True, kw_only=True):
    """What of the machine tells a card from a chip of the board, beside the functions."""

    names: IdDatabase
    bench_case: bool
    radio_slots: frozenset[str]
    """PCI addresses that the firmware gives slots made for wireless cards."""


def part_kind(function: PciFunction, signs: CardSigns) -> str | None:
    """Kind of the part this function makes, or None for one that belongs to the board."""
    base, sub = function.class_code >> 16, function.class_code >> 8
    if sub == 0x0108:
        return "drive"
    if sub == 0x0280 or base == 0x0D or function.wireless:
        return slots.WIRELESS
    if base == 0x02 and (_called_wireless(function, signs) or _in_radio_slot(function, signs)):
        return slots.WIRELESS
    if base == 0x06 or not signs.bench_case or function.above is None:
        return None
    return "network-adapter" if base == 0x02 else "expansion-card"


def _called_wireless(function: PciFunction, signs: CardSigns) -> bool:
    name = signs.names.pci_device(function.vendor, function.device) or ""
    return bool(re.search(r"wireless|wi-?fi|802\.11", name, re.IGNORECASE))


def _in_radio_slot(function: PciFunction, signs: CardSigns) -> bool:
    """Whether the firmware's slot table means this function, or the port above it."""
    return not signs.radio_slots.isdisjoint({function.address, function.above})


def main_function(
    function: PciFunction, functions: dict[str, PciFunction], signs: CardSigns
) -> PciFunction | None:
    """The function that makes the part this one is on; None when it is on the board.

    All functions of one device behind a port sit on the same card. On a root bus
    each function stands for itself.
    """
    if function.above is None:
        return function if part_kind(function, signs) else None
    device = function.address.rpartition(".")[0]
    for number in range(8):
        other = functions.get(f"{device}.{number}")
        if other is not None and part_kind(other, signs):
            return other
    return None
