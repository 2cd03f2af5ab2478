"""Wireless and Bluetooth, passively: how far each card came, and what stops it.

Told apart: nothing enumerates (the slot's own check), no driver here, no firmware file
here, firmware that would not start, a block by hardware or software, a radio without
channels, an address that is none; and of the two halves of a card, which one is missing.
Nothing is switched on and nothing transmits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.host import Host, Unreadable
from livecheck.probes import Context, Yield
from livecheck.probes.finding import finding
from livecheck.probes.wireless.card import CARD, Card, gather
from livecheck.probes.wireless.driver_firmware import driver, firmware
from livecheck.probes.wireless.halves import halves
from livecheck.probes.wireless.radio_judge import addresses, bands
from livecheck.probes.wireless.rfkill import Switch, blocked, readings
from livecheck.probes.wireless.rfkill import read as read_switches
from livecheck.radio import decode
from livecheck.radio.state import Interface, Radio, Regulatory
from livecheck.records import NotTested

PRESENT: Final = "wireless.present"


def probe(context: Context) -> Iterator[Yield]:
    """Readings of every wireless card, its halves, and the switches of the machine."""
    host, inventory = context.host, context.inventory
    parts = [part for part in inventory.parts if part.kind == CARD]
    if not parts:
        # Whether there ought to be one is not known: an empty slot is no fault by itself.
        yield NotTested(what="Wireless", why="no wireless card answers in this machine")
        if not host.udev("rfkill"):
            return
    radios, interfaces, rules, refused = query_radios(host)
    if refused and parts:
        yield refused
    switches = read_switches(host, inventory.devices)
    for part in parts:
        card = gather(part, inventory, context.events, radios, interfaces)
        yield from _card(card, switches, rules, context)
    yield from readings(switches, {part.id: part.name for part in parts})


def query_radios(
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
    part = card.part
    if part.answers is False:
        # Its driver and firmware are what they were when it went: they say no more.
        says = f"{part.name} was found and has gone from its bus: its registers read all ones."
        gone = finding(PRESENT, True, "all ones", says)
        yield gone.reading(part.id, "configuration space")
        return
    there = finding(PRESENT, False, part.name, f"{part.name} answers on its bus.")
    yield there.reading(part.id, "enumeration")
    if card.wireless.function is not None or card.wireless.runs or card.radios:
        yield firmware("wireless.firmware", card.wireless).reading(part.id, "kernel log")
        yield driver("wireless.driver", card.wireless, "interface").reading(part.id, "sysfs")
        yield from addresses(card, context)
        yield from bands(card, rules)
    if card.bluetooth.function is not None:
        yield firmware("bluetooth.firmware", card.bluetooth).reading(part.id, "kernel log")
        off = blocked(switches, part.id, "bluetooth")
        adapter = driver("bluetooth.driver", card.bluetooth, "adapter", off)
        yield adapter.reading(part.id, "sysfs")
    yield from halves(card, context.inventory, context.events)
