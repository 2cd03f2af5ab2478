"""The two halves of a wireless card: PCI Express for one radio, USB for the other. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.probes.finding import finding
from livecheck.probes.wireless.card import CARD, Card
from livecheck.records import Inventory, KernelEvent, Place, Presence, Reading

CHECK: Final = "wireless.halves"
SOURCE: Final = "enumeration"


def halves(card: Card, inventory: Inventory, events: Sequence[KernelEvent]) -> Iterator[Reading]:
    """Wireless on PCI Express against Bluetooth on USB: power and seat are common to both.

    A half that answers clears what both share, the slot's supply and its seat, and leaves
    the other half's own lines and chip.
    """
    pci, usb = card.wireless.function, card.bluetooth.function
    on_pci = pci is not None and pci.subsystem == "pci"
    if on_pci and usb is not None:
        says = "Both halves of the card answer: wireless on PCI Express, Bluetooth on USB."
        yield finding(CHECK, False, "both", says).reading(card.part.id, SOURCE)
    elif usb is not None and pci is None:
        slot = _silent_slot(inventory)
        if slot is not None:
            says = (
                f"The card's Bluetooth half answers on USB and its wireless half does not on PCI "
                f"Express ({slot.name}): the card has power; its PCI Express lines, their "
                "contacts or that half of the card are left."
            )
            yield finding(CHECK, True, "Bluetooth only", says).reading(slot.id, SOURCE)
    elif on_pci:
        port = _troubled_port(inventory, events)
        if port is not None:
            says = (
                f"The card's wireless half answers on PCI Express, and something at {port.name} "
                "inside the machine does not answer on USB: the card has power; its USB lines, "
                "their contacts or its Bluetooth half are left."
            )
            yield finding(CHECK, True, "wireless only", says).reading(card.part.id, SOURCE)


def _silent_slot(inventory: Inventory) -> Place | None:
    """The slot the other half should be in: one that senses a card, or is made for one."""
    taken = {part.place for part in inventory.parts}
    free = [p for p in inventory.places if p.kind == "pcie-slot" and p.id not in taken]
    sensing = [p for p in free if p.presence is Presence.NOTHING_ANSWERS]
    made_for = [p for p in free if p.expects == CARD]
    for choice in (sensing, made_for):
        if len(choice) == 1:
            return choice[0]
    return None


def _troubled_port(inventory: Inventory, events: Sequence[KernelEvent]) -> Place | None:
    """A USB port inside the machine with nothing on it and errors of its own."""
    empty = {
        p.id: p
        for p in inventory.places
        if p.kind == "usb-port" and not p.external and p.presence is not Presence.SEEN
    }
    named = {e.component or "" for e in events if e.subsystem == "usb" and e.serious}
    troubled = [place for own, place in empty.items() if own in named]
    return troubled[0] if len(troubled) == 1 else None
