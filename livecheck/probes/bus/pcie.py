"""PCI Express: link speed and width, error counters and status, places where nothing answers.

Who is to blame stands in the check table, and these rules keep it honest: an
endpoint's errors may be counted at the port above it (Linux
``Documentation/ABI/testing/sysfs-bus-pci-devices-aer_stats``), so a count is read at
the part behind the link, never at the port alone; a status bit stays set until
someone clears it and is found on sound machines, so a bit is told and not judged;
a link may run slower than it can to save power, so speed is judged with the
link's other signs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import msgspec

from livecheck.host import MOST_EVENTS, Host, text
from livecheck.inventory import config_bits
from livecheck.probes import Context, Yield
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import (
    Device,
    Inventory,
    NotTested,
    Outcome,
    PciFacts,
    Place,
    Presence,
    Reading,
    Record,
)

LINK_ERRORS: Final = frozenset(
    {"RxErr", "Receiver Error", "BadTLP", "Bad TLP", "BadDLLP", "Bad DLLP"}
    | {"Rollover", "RELAY_NUM Rollover", "Timeout", "Replay Timer Timeout"}
    | {"DLP", "Data Link Protocol", "SDES", "Surprise Down Error"}
)
"""Names of link-layer counters: as the kernel's code prints them, and as its documentation
shows them."""

COUNTERS: Final = ("aer_dev_correctable", "aer_dev_nonfatal", "aer_dev_fatal")


LOST: Final = frozenset({"host bus"})
"""Layer of kernel messages after which a device has been away from its bus."""

SOURCE: Final = "sysfs and configuration space"


class LinkEnd(Record, frozen=True, kw_only=True):
    """One end of a link: the function and what it reports."""

    name: str
    speed_gts: float | None = None
    width: int | None = None
    max_speed_gts: float | None = None
    max_width: int | None = None
    device_status: int | None = None
    correctable: int | None = None
    uncorrectable: int | None = None
    counters: Mapping[str, int] = {}
    """Errors since the kernel started, by the kernel's names, of all severities."""
    counted: bool = False
    """False: the kernel keeps no such counters for this function."""


def probe(context: Context) -> Iterator[Yield]:
    """Readings of every link that ends in a place, and of places where nothing answers."""
    lost = {e.component for e in context.events if e.serious and e.layer in LOST}
    for one in _links(context):
        yield _since_recovery(one) if isinstance(one, Reading) and one.at in lost else one


def _since_recovery(reading: Reading) -> Reading:
    """A link that broke off and came back counts anew: that it is well now says nothing."""
    if reading.outcome is not Outcome.PASSED:
        return reading
    why = "the kernel lost this device since it started; what is read now began after that"
    return msgspec.structs.replace(reading, outcome=Outcome.NOT_JUDGED, why_not=why)


def _links(context: Context) -> Iterator[Yield]:
    inventory = context.inventory
    devices = {d.name: d for d in inventory.devices if d.subsystem == "pci"}
    parts = {part.id: part for part in inventory.parts}
    seen_link = False
    for device in devices.values():
        part = parts.get(device.component or "")
        if part is None or not device.name.endswith(".0"):
            continue
        above = port_above(device, devices)
        if above is None:
            continue
        seen_link = True
        near, far = read_end(context.host, above), read_end(context.host, device)
        for one in judge_link(near, far, inventory_limit(context)):
            yield one.reading(part.id, SOURCE, device.name)
    for place in inventory.places:
        if place.kind == "pcie-slot":
            yield from _presence(place, inventory)
    yield from _gone(inventory)
    if not seen_link:
        yield NotTested(what="PCI Express links", why="no link of this machine ends in a slot")


def inventory_limit(context: Context) -> int:
    """Link errors since the start that count as a failure."""
    check = context.knowledge.checks.get("pcie.errors")
    return int(check.limits.get("link_errors", 10)) if check else 10


# --- Reading both ends


def facts(device: Device) -> PciFacts:
    """What the inventory knows of a function; of another device: nothing."""
    return device.facts if isinstance(device.facts, PciFacts) else PciFacts()


def port_above(device: Device, devices: Mapping[str, Device]) -> Device | None:
    """The port a function is behind, of PCI devices by address; None on a root bus."""
    return devices.get(facts(device).above or "")


def read_end(host: Host, device: Device) -> LinkEnd:
    """One end, from the inventory's decoding and the kernel's counters."""
    told = facts(device)
    counters: dict[str, int] = {}
    counted = False
    for name in COUNTERS:
        raw = text(host, f"{device.path}/{name}")
        rows = parse_counters(raw or "")
        counted = counted or bool(rows)
        for key, number in rows.items():
            counters[key] = counters.get(key, 0) + number
    return LinkEnd(
        name=device.name,
        speed_gts=told.link_speed_gts,
        width=told.link_width,
        max_speed_gts=told.link_max_speed_gts,
        max_width=told.link_max_width,
        device_status=told.device_status,
        correctable=told.aer_correctable,
        uncorrectable=told.aer_uncorrectable,
        counters=counters,
        counted=counted,
    )


def parse_counters(raw: str) -> dict[str, int]:
    """``RxErr 2`` lines; names may hold blanks, totals (``TOTAL_ERR_COR``) are left out.

    Nothing of a file in which a count cannot be.
    """
    found: dict[str, int] = {}
    for line in raw.splitlines():
        name, _, number = line.strip().rpartition(" ")
        if name and number.isascii() and number.isdigit() and not name.startswith("TOTAL"):
            if len(number) > len(str(MOST_EVENTS)) or int(number) >= MOST_EVENTS:
                return {}
            found[name.strip()] = int(number)
    return found


# --- Judging


def judge_link(near: LinkEnd, far: LinkEnd, error_limit: int = 10) -> tuple[Finding, ...]:
    """Findings of one link: ``near`` is the port above, ``far`` the part's function."""
    errors = link_errors(near, far)
    return (
        *_speed(near, far, errors),
        *_width(near, far, errors),
        _errors(near, far, errors, error_limit),
    )


def link_errors(near: LinkEnd, far: LinkEnd) -> int:
    """Link-layer errors counted at both ends."""
    return sum(
        number
        for end in (near, far)
        for name, number in end.counters.items()
        if name in LINK_ERRORS
    )


def _speed(near: LinkEnd, far: LinkEnd, errors: int) -> tuple[Finding, ...]:
    check = "pcie.link-speed"
    now = far.speed_gts or near.speed_gts
    if now is None or near.max_speed_gts is None or far.max_speed_gts is None:
        return (unjudged(check, "the link's registers could not be read (root may read them)"),)
    best = min(near.max_speed_gts, far.max_speed_gts)
    says = f"The link runs at {now:g} GT/s; both ends can do {best:g} GT/s."
    if now < best and not errors:
        # Power saving lowers the speed of an idle link; only the kernel's complaint or
        # errors beside it make a slow link a fault.
        why = f"{says} It may be saving power: a fault only with errors beside it"
        return (unjudged(check, why, now, "GT/s"),)
    return (finding(check, now < best, now, says, "GT/s"),)


def _width(near: LinkEnd, far: LinkEnd, errors: int) -> tuple[Finding, ...]:
    check = "pcie.link-width"
    now = far.width or near.width
    if not now or not near.max_width or not far.max_width:
        return (unjudged(check, "the link's registers could not be read (root may read them)"),)
    best = min(near.max_width, far.max_width)
    says = f"The link runs over {now} of {best} lanes."
    if now < best and not errors:
        # A slot may be wired with fewer lanes than its port has.
        why = f"{says} The slot may be wired for no more: a fault only with errors beside it"
        return (unjudged(check, why, now, "lanes"),)
    return (finding(check, now < best, now, says, "lanes"),)


def _errors(near: LinkEnd, far: LinkEnd, total: int, limit: int) -> Finding:
    check = "pcie.errors"
    details = (*_told(near, "port"), *_told(far, "part"))
    if not near.counted and not far.counted:
        why = "the kernel counts no errors here (the firmware keeps error reporting to itself)"
        return unjudged(check, why).with_details(details)
    says = f"{total} errors on the link since the kernel started, counted at both ends."
    return finding(check, total >= limit, total, says, "errors").with_details(details)


def _told(end: LinkEnd, what: str) -> tuple[str, ...]:
    """Counters and sticky bits of one end, in words: kept, not judged."""
    found = [f"{what} {end.name}: {n} {number}" for n, number in end.counters.items() if number]
    for label, value, names in (
        ("device status", end.device_status, config_bits.DEVICE_STATUS),
        ("correctable status", end.correctable, config_bits.CORRECTABLE),
        ("uncorrectable status", end.uncorrectable, config_bits.UNCORRECTABLE),
    ):
        bits = config_bits.named_bits(value or 0, names)
        if bits:
            found.append(f"{what} {end.name}: {label} {', '.join(bits)} (set at some time)")
    return tuple(found)


# --- Presence


def _presence(place: Place, inventory: Inventory) -> Iterator[Reading]:
    """What a slot senses against what answers behind it."""
    fitted = [part for part in inventory.parts if part.place == place.id]
    if place.presence is Presence.NOTHING_ANSWERS and not fitted:
        told = place.told_fitted
        yield Reading(
            check="pcie.answers",
            at=place.id,
            outcome=Outcome.FAILED,
            value="fitted, no answer" if told else "sensed, no answer",
            source="the technician" if told else "slot status",
            says=f"A card is fitted in {place.name}, as was said, and nothing answers behind it."
            if told
            else f"{place.name} senses a card, and nothing answers behind it.",
        )
    elif fitted and fitted[0].answers is not False:
        yield Reading(
            check="pcie.answers",
            at=fitted[0].id,
            outcome=Outcome.PASSED,
            value="answers",
            source="enumeration",
            says=f"What is in {place.name} answers.",
        )


def _gone(inventory: Inventory) -> Iterator[Reading]:
    """Functions the kernel still lists whose registers read all ones."""
    names = {one.id: one.name for one in inventory.controllers}
    names |= {one.id: one.name for one in inventory.parts}
    for device in inventory.devices:
        if device.subsystem == "pci" and facts(device).answers is False:
            name = names.get(device.component or "", "a device on PCI Express")
            yield Reading(
                check="pcie.answers",
                at=device.component or "machine",
                outcome=Outcome.FAILED,
                value="all ones",
                source="configuration space",
                says=f"It was there when the machine started and has gone from the bus: {name}.",
                device=device.name,
            )
