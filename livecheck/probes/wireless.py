"""Wireless and Bluetooth, passively: card, driver, firmware, switches. Nothing transmits."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.host import Host, text
from livecheck.probes import Context, Yield
from livecheck.records import Device, KernelEvent, NotTested, Outcome, Part, Reading


def probe(context: Context) -> Iterator[Yield]:
    """Readings of every wireless card, and of the switches of the machine."""
    cards = [part for part in context.inventory.parts if part.kind == "wireless-card"]
    if not cards:
        # Whether there ought to be one is not known: an empty slot is no fault by itself.
        yield NotTested(what="Wireless", why="no wireless card answers in this machine")
    for card in cards:
        devices = [d for d in context.inventory.devices if d.component == card.id]
        yield Reading(
            check="wireless.present",
            at=card.id,
            outcome=Outcome.PASSED,
            value=card.name,
            source="enumeration",
            says=f"{card.name} answers on its bus.",
        )
        firmware = _firmware(card, context.events)
        yield firmware
        yield _driver(card, devices, firmware.outcome is Outcome.PASSED)
        yield from _mac(card, devices, context.host)
    yield from _switches(context.host, cards)


def _driver(card: Part, devices: Sequence[Device], has_firmware: bool) -> Reading:
    functions = [d for d in devices if d.subsystem in ("pci", "usb", "usb_interface", "sdio")]
    drivers = sorted({d.driver for d in functions if d.driver and d.driver != "usb"})
    interfaces = sorted(d.name for d in devices if d.subsystem in ("net", "bluetooth"))
    if drivers and interfaces:
        return Reading(
            check="wireless.driver",
            at=card.id,
            outcome=Outcome.PASSED,
            value=", ".join(drivers),
            source="sysfs",
            says=f"Driver {', '.join(drivers)} gave it {', '.join(interfaces)}.",
        )
    if not drivers or not has_firmware:
        lack = "firmware file" if drivers else "driver"
        return Reading(
            check="wireless.driver",
            at=card.id,
            outcome=Outcome.NOT_JUDGED,
            why_not=f"no {lack} for it is on this stick, which says nothing about the card",
            source="sysfs",
        )
    return Reading(
        check="wireless.driver",
        at=card.id,
        outcome=Outcome.FAILED,
        value=", ".join(drivers),
        source="sysfs",
        says=f"Driver {', '.join(drivers)} took it, but no interface came of it.",
    )


def _firmware(card: Part, events: Sequence[KernelEvent]) -> Reading:
    """A firmware file that is missing is livecheck's stick's lack, not the card's fault."""
    missing = [e for e in events if e.subsystem in ("wireless",) and e.layer == "firmware"]
    own = [e for e in missing if e.component in (card.id, None)]
    if own:
        return Reading(
            check="wireless.firmware",
            at=card.id,
            outcome=Outcome.NOT_JUDGED,
            why_not="its firmware file is missing here, so it could not be started",
            source="kernel log",
            details=tuple(e.raw for e in own[:4]),
        )
    return Reading(
        check="wireless.firmware",
        at=card.id,
        outcome=Outcome.PASSED,
        source="kernel log",
        says="The kernel complained of no missing firmware.",
    )


_MAC: Final = re.compile(r"[0-9a-f]{2}(?::[0-9a-f]{2}){5}")


def _mac(card: Part, devices: Sequence[Device], host: Host) -> Iterator[Reading]:
    """A card whose memory lost its address shows zeros, ones or a driver's stand-in."""
    for device in devices:
        if device.subsystem != "net":
            continue
        address = (text(host, f"{device.path}/address") or "").lower()
        if not _MAC.fullmatch(address):
            continue
        bad = address in ("00:00:00:00:00:00", "ff:ff:ff:ff:ff:ff")
        says = "has no address of its own" if bad else "has an address of its own"
        yield Reading(
            check="wireless.address",
            at=card.id,
            outcome=Outcome.FAILED if bad else Outcome.PASSED,
            value=address,
            source=f"{device.name}/address",
            says=f"{device.name} {says}.",
            device=device.name,
        )


def _switches(host: Host, cards: Sequence[Part]) -> Iterator[Reading]:
    """Switches of the radios (Documentation/ABI/stable/sysfs-class-rfkill)."""
    for switch in host.udev("rfkill"):
        hard, soft = text(host, f"{switch.path}/hard"), text(host, f"{switch.path}/soft")
        if hard is None:
            continue
        name = text(host, f"{switch.path}/name") or switch.name
        kind = text(host, f"{switch.path}/type") or "radio"
        owner = cards[0].id if len(cards) == 1 else "machine"
        state = f"hardware switch {'on' if hard == '1' else 'off'}, software block "
        yield Reading(
            check="wireless.blocked",
            at=owner,
            outcome=Outcome.FAILED if hard == "1" else Outcome.PASSED,
            value="blocked by hardware" if hard == "1" else "free",
            source=f"rfkill {switch.name}",
            says=(
                f"{name} ({kind}) is switched off by a switch, a key or the firmware."
                if hard == "1"
                else f"{name} ({kind}) is not held off by hardware."
            ),
            details=(state + ("on" if soft == "1" else "off"),),
        )
