"""A wireless card's address, bands and rules, as the kernel gives them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.host import text
from livecheck.probes import Context
from livecheck.probes.finding import finding
from livecheck.probes.wireless.card import Card
from livecheck.radio.state import Radio, Regulatory
from livecheck.records import Reading

_MAC: Final = re.compile(r"[0-9a-f]{2}(?::[0-9a-f]{2}){5}")
STAND_INS: Final = frozenset({"00:11:22:33:44:55", "12:34:56:78:9a:bc", "02:00:00:00:00:00"})
"""Addresses written where there is none (common practice, no source)."""


def addresses(card: Card, context: Context) -> Iterator[Reading]:
    """A card whose memory lost its address shows zeros, ones or a driver's stand-in."""
    for device in context.inventory.devices:
        if device.component != card.part.id or device.subsystem != "net":
            continue
        address = (text(context.host, f"{device.path}/address") or "").lower()
        if not _MAC.fullmatch(address):
            continue
        fault = address_fault(address)
        says = f"{device.name} {fault or 'has an address of its own'}."
        found = finding("wireless.address", fault is not None, address, says)
        yield found.reading(card.part.id, f"{device.name}/address", device.name)


def address_fault(address: str) -> str | None:
    """What is wrong with a station's address (IEEE 802: bit 0 of the first octet: a group)."""
    if address in ("00:00:00:00:00:00", "ff:ff:ff:ff:ff:ff"):
        return "has no address of its own"
    if int(address[:2], 16) & 1:
        return f"has the address of a group, {address}, which no station can have"
    if address in STAND_INS:
        return f"has a stand-in for an address, {address}"
    return None


def bands(card: Card, rules: Sequence[Regulatory]) -> Iterator[Reading]:
    """Bands, channels and rules; a radio that registers without a channel is none."""
    for radio in card.radios:
        usable = [b for b in radio.bands if any(not c.disabled for c in b.channels)]
        names = ", ".join(
            f"{b.name} ({sum(not c.disabled for c in b.channels)} channels)" for b in usable
        )
        says = f"{radio.name} can be tuned to {names}."
        if not usable:
            says = f"{radio.name} registered without a channel it may be tuned to."
        found = finding("wireless.radio", not usable, names or None, says)
        details = tuple(_details(radio, rules))
        yield found.with_details(details).reading(card.part.id, "nl80211", radio.name)


def _details(radio: Radio, rules: Sequence[Regulatory]) -> Iterator[str]:
    yield from (f"{b.name}: {', '.join(b.modes)}" for b in radio.bands)
    if radio.antennas_rx is not None and radio.available_rx:
        used, all_of_them = radio.antennas_rx.bit_count(), radio.available_rx.bit_count()
        yield f"antennas listening: {used} of {all_of_them}"
    own = next((r for r in rules if r.radio == radio.index), None)
    rule = own or next((r for r in rules if r.radio is None), None)
    if rule is not None:
        keeper = "the card's own" if own else "the kernel's"
        yield f"rules in force: {rule.country} ({keeper})"
