"""Wireless and Bluetooth, passively: how far each card came, and what stops it.

Told apart: nothing enumerates (the slot's own check), no driver here, no firmware file
here, firmware that would not start, a block by hardware or software, a radio without
channels, an address that is none; and of the two halves of a card, which one is missing.
Nothing is switched on and nothing transmits.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.host import Host, Unreadable, text
from livecheck.probes import Context, Yield
from livecheck.probes.wireless.card import Card, Half, gather
from livecheck.probes.wireless.rfkill import Switch, blocked, readings
from livecheck.probes.wireless.rfkill import read as read_switches
from livecheck.radio import decode
from livecheck.radio.state import Interface, Radio, Regulatory
from livecheck.records import (
    Inventory,
    KernelEvent,
    NotTested,
    Outcome,
    Part,
    Place,
    Presence,
    Reading,
    Value,
)

CARD: Final = "wireless-card"
_MAC: Final = re.compile(r"[0-9a-f]{2}(?::[0-9a-f]{2}){5}")
STAND_INS: Final = frozenset({"00:11:22:33:44:55", "12:34:56:78:9a:bc", "02:00:00:00:00:00"})
"""Addresses written where there is none (common practice, no source)."""


def probe(context: Context) -> Iterator[Yield]:
    """Readings of every wireless card, its halves, and the switches of the machine."""
    host, inventory = context.host, context.inventory
    parts = [part for part in inventory.parts if part.kind == CARD]
    if not parts:
        # Whether there ought to be one is not known: an empty slot is no fault by itself.
        yield NotTested(what="Wireless", why="no wireless card answers in this machine")
        if not host.udev("rfkill"):
            return
    radios, interfaces, rules, refused = ask(host)
    if refused and parts:
        yield refused
    switches = read_switches(host, inventory.devices)
    for part in parts:
        card = gather(part, inventory, context.events, radios, interfaces)
        yield from _card(card, switches, rules, context)
    yield from readings(switches, {part.id: part.name for part in parts})


def ask(
    host: Host,
) -> tuple[tuple[Radio, ...], tuple[Interface, ...], tuple[Regulatory, ...], NotTested | None]:
    """Radios, interfaces and rules by netlink; and why not, where the kernel has none."""
    try:
        radios = decode.radios(host.radio("wiphy"))
        interfaces = decode.interfaces(host.radio("interface"))
        rules = decode.regulatory(host.radio("reg"))
    except Unreadable as error:
        why = f"the kernel lists no radios ({error})"
        return (), (), (), NotTested(what="Radios by netlink", why=why)
    return radios, interfaces, rules, None


def _card(
    card: Card,
    switches: Sequence[Switch],
    rules: Sequence[Regulatory],
    context: Context,
) -> Iterator[Yield]:
    inventory, host = context.inventory, context.host
    part = card.part
    if part.answers is False:
        # Its driver and firmware are what they were when it went: they say no more.
        says = f"{part.name} was found and has gone from its bus: its registers read all ones."
        yield _reading(
            "wireless.present",
            part,
            Outcome.FAILED,
            says,
            value="all ones",
            source="configuration space",
        )
        return
    yield _reading(
        "wireless.present",
        part,
        Outcome.PASSED,
        f"{part.name} answers on its bus.",
        value=part.name,
        source="enumeration",
    )
    if card.wireless.function is not None or card.wireless.runs or card.radios:
        yield _firmware("wireless.firmware", part, card.wireless)
        yield _driver("wireless.driver", part, card.wireless, "interface")
        yield from _addresses(card, inventory, host)
        yield from _radio(card, rules)
    if card.bluetooth.function is not None:
        yield _firmware("bluetooth.firmware", part, card.bluetooth)
        off = blocked(switches, part.id, "bluetooth")
        yield _driver("bluetooth.driver", part, card.bluetooth, "adapter", off)
    yield from halves(card, inventory, context.events)


def _reading(
    check: str,
    part: Part,
    outcome: Outcome,
    says: str = "",
    *,
    value: Value = None,
    source: str = "sysfs",
    why_not: str | None = None,
    details: Sequence[str] = (),
    at: str | None = None,
    device: str | None = None,
) -> Reading:
    return Reading(
        check=check,
        at=at or part.id,
        outcome=outcome,
        says=says,
        value=value,
        source=source,
        why_not=why_not,
        details=tuple(details),
        device=device,
    )


# --- Driver and firmware


def _driver(check: str, part: Part, half: Half, thing: str, off: Switch | None = None) -> Reading:
    if half.driver and half.runs:
        names = ", ".join(half.runs)
        return _reading(
            check, part, Outcome.PASSED, f"Driver {half.driver} gave it {names}.", value=half.driver
        )
    if half.runs:
        names = ", ".join(half.runs)
        return _reading(check, part, Outcome.PASSED, f"It runs as {names}.", value=names)
    if not half.driver:
        why = "no driver for it is on this stick, which says nothing about the card"
        return _reading(check, part, Outcome.NOT_JUDGED, why_not=why, value="driver")
    if any(lack.missing for lack in half.lacks):
        why = "no firmware file for it is on this stick, which says nothing about the card"
        return _reading(check, part, Outcome.NOT_JUDGED, why_not=why)
    if off is not None:
        why = f"{off.name} holds it off, so it need not appear"
        return _reading(check, part, Outcome.NOT_JUDGED, why_not=why)
    return _reading(
        check,
        part,
        Outcome.FAILED,
        f"Driver {half.driver} took it, but no {thing} came of it.",
        value=half.driver,
        details=[e.raw for e in half.crashes[:4]],
    )


def _firmware(check: str, part: Part, half: Half) -> Reading:
    """A file that is missing is the stick's lack, and no fault of the card's."""
    source = "kernel log"
    missing = tuple(dict.fromkeys(x.file for x in half.lacks if x.missing))
    refused = tuple(dict.fromkeys(x.file for x in half.lacks if not x.missing))
    if half.runs:
        # Drivers ask for the newest file first and go down the versions until one is there.
        says = "Its firmware was loaded and runs."
        details = [f"not there, an older one was taken: {f}" for f in missing]
        return _reading(check, part, Outcome.PASSED, says, source=source, details=details)
    if missing:
        why = f"its firmware file is missing here: {', '.join(missing[:3])}"
        return _reading(
            check,
            part,
            Outcome.NOT_JUDGED,
            why_not=why,
            source=source,
            value=missing[0],
            details=missing,
        )
    if refused:
        says = f"Its firmware file {refused[0]} is here and could not be loaded."
        return _reading(
            check,
            part,
            Outcome.FAILED,
            says,
            source=source,
            value=refused[0],
            details=[f"{x.file}: error {x.errno}" for x in half.lacks],
        )
    if half.crashes:
        says = f"Its firmware did not start: {half.crashes[0].says}."
        return _reading(
            check,
            part,
            Outcome.FAILED,
            says,
            source=source,
            details=[e.raw for e in half.crashes[:4]],
        )
    if not half.driver:
        why = "without a driver no firmware is asked for"
        return _reading(check, part, Outcome.NOT_JUDGED, why_not=why, source=source)
    says = "The kernel complained of no missing firmware."
    return _reading(check, part, Outcome.PASSED, says, source=source)


# --- Address


def _addresses(card: Card, inventory: Inventory, host: Host) -> Iterator[Reading]:
    """A card whose memory lost its address shows zeros, ones or a driver's stand-in."""
    for device in inventory.devices:
        if device.component != card.part.id or device.subsystem != "net":
            continue
        address = (text(host, f"{device.path}/address") or "").lower()
        if not _MAC.fullmatch(address):
            continue
        fault = address_fault(address)
        says = fault or "has an address of its own"
        yield _reading(
            "wireless.address",
            card.part,
            Outcome.FAILED if fault else Outcome.PASSED,
            f"{device.name} {says}.",
            value=address,
            source=f"{device.name}/address",
            device=device.name,
        )


def address_fault(address: str) -> str | None:
    """What is wrong with a station's address (IEEE 802: bit 0 of the first octet: a group)."""
    if address in ("00:00:00:00:00:00", "ff:ff:ff:ff:ff:ff"):
        return "has no address of its own"
    if int(address[:2], 16) & 1:
        return f"has the address of a group, {address}, which no station can have"
    if address in STAND_INS:
        return f"has a stand-in for an address, {address}"
    return None


# --- Radio


def _radio(card: Card, rules: Sequence[Regulatory]) -> Iterator[Reading]:
    """Bands, channels and rules; a radio that registers without a channel is none."""
    for radio in card.radios:
        bands = [b for b in radio.bands if any(not c.disabled for c in b.channels)]
        own = next((r for r in rules if r.radio == radio.index), None)
        rule = own or next((r for r in rules if r.radio is None), None)
        said = ", ".join(
            f"{b.name} ({sum(not c.disabled for c in b.channels)} channels)" for b in bands
        )
        details = [f"{b.name}: {', '.join(b.modes)}" for b in radio.bands]
        if radio.antennas_rx is not None and radio.available_rx:
            used, all_of_them = radio.antennas_rx.bit_count(), radio.available_rx.bit_count()
            details.append(f"antennas listening: {used} of {all_of_them}")
        if rule is not None:
            keeper = "the card's own" if own else "the kernel's"
            details.append(f"rules in force: {rule.country} ({keeper})")
        yield _reading(
            "wireless.radio",
            card.part,
            Outcome.PASSED if bands else Outcome.FAILED,
            f"{radio.name} can be tuned to {said}."
            if bands
            else f"{radio.name} registered without a channel it may be tuned to.",
            value=said or None,
            source="nl80211",
            details=details,
            device=radio.name,
        )


# --- Two halves of one card


def halves(card: Card, inventory: Inventory, events: Sequence[KernelEvent]) -> Iterator[Reading]:
    """Wireless on PCI Express against Bluetooth on USB: power and seat are common to both.

    A half that answers clears what both share, the slot's supply and its seat, and leaves
    the other half's own lines and chip.
    """
    pci = card.wireless.function
    usb = card.bluetooth.function
    if pci is not None and pci.subsystem == "pci" and usb is not None:
        says = "Both halves of the card answer: wireless on PCI Express, Bluetooth on USB."
        yield _reading(
            "wireless.halves", card.part, Outcome.PASSED, says, value="both", source="enumeration"
        )
    elif usb is not None and pci is None:
        slot = _silent_slot(inventory)
        if slot is not None:
            says = (
                f"The card's Bluetooth half answers on USB and its wireless half does not on PCI "
                f"Express ({slot.name}): the card has power; its PCI Express lines, their "
                "contacts or that half of the card are left."
            )
            yield _reading(
                "wireless.halves",
                card.part,
                Outcome.FAILED,
                says,
                at=slot.id,
                value="Bluetooth only",
                source="enumeration",
            )
    elif pci is not None and pci.subsystem == "pci":
        port = _troubled_port(inventory, events)
        if port is not None:
            says = (
                f"The card's wireless half answers on PCI Express, and something at {port.name} "
                "inside the machine does not answer on USB: the card has power; its USB lines, "
                "their contacts or its Bluetooth half are left."
            )
            yield _reading(
                "wireless.halves",
                card.part,
                Outcome.FAILED,
                says,
                value="wireless only",
                source="enumeration",
            )


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
