"""USB: links slower than device and socket can be, over-current, which sockets were tried.

A fast device in a slow socket is no fault: a link is judged only where the device says
that it can do more, and the firmware that the socket has a fast half.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.probes import Context, Yield
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import (
    Device,
    KernelEvent,
    NotTested,
    Outcome,
    Place,
    Reading,
    UsbFacts,
    Value,
)

FAST: Final = 5000.0
HIGH: Final = 480.0
"""Mb/s of SuperSpeed and of high speed."""

SPEED: Final = "usb.link-speed"
OVER_CURRENT: Final = "usb.over-current"
ANSWERS: Final = "usb.port-answers"
RESETS: Final = "usb.resets"


def probe(context: Context) -> Iterator[Yield]:
    """Readings of every USB device that is a part, and of every socket."""
    inventory = context.inventory
    places = {place.id: place for place in inventory.places if place.kind == "usb-port"}
    parts = {part.id: part for part in inventory.parts}
    for device in inventory.devices:
        part = parts.get(device.component or "")
        if device.subsystem != "usb" or part is None or device.name.startswith("usb"):
            continue
        place = places.get(part.place) or places.get(f"usb:{device.name}")
        events = [e for e in context.events if e.component == part.id and e.subsystem == "usb"]
        for one in (*link_speed(device, place, events), *resets(events)):
            yield one.reading(part.id, "sysfs", device.name)
    for place in places.values():
        yield from _socket(place, context)
    if not places:
        yield NotTested(what="USB sockets", why="this kernel shows no USB port")


def _number(value: Value) -> float | None:
    try:
        return float(value) if isinstance(value, str | int | float) else None
    except ValueError:
        return None


def link_speed(
    device: Device, place: Place | None, events: Sequence[KernelEvent]
) -> tuple[Finding, ...]:
    """The negotiated speed against what device and socket both can do."""
    told = device.facts if isinstance(device.facts, UsbFacts) else UsbFacts()
    now, best = told.speed_mbps, told.max_mbps
    socket = place.port_max_mbps if place is not None else None
    if now is None:
        return ()
    if now < HIGH:
        return _slower_than_high(now, socket, events)
    if best is None:
        return ()
    says = f"The link runs at {now:g} Mb/s; the device can do {best:g} Mb/s or more"
    if best < FAST or now >= FAST:
        # Above 5 Gb/s cable and lanes decide too, and a port does not say what it is wired for.
        if now < best:
            why = f"{says}; what cable and socket are made for is not known"
            return (unjudged(SPEED, why, now, "Mb/s"),)
        return (finding(SPEED, False, now, "The link runs as fast as the device can.", "Mb/s"),)
    if socket is None:
        why = f"{says}; whether this socket has a fast half, the firmware does not say"
        return (unjudged(SPEED, why, now, "Mb/s"),)
    if socket < FAST:
        says = f"{says}, this socket {socket:g} Mb/s: as fast as it can be here."
        return (finding(SPEED, False, now, says, "Mb/s"),)
    says = (
        f"{says}, this socket {socket:g} Mb/s: the fast contacts of device, cable or socket do "
        "not work."
    )
    return (finding(SPEED, True, now, says, "Mb/s"),)


def _slower_than_high(
    now: float, socket: float | None, events: Sequence[KernelEvent]
) -> tuple[Finding, ...]:
    """12 Mb/s: the kernel asks such devices whether they could do 480, and logs it."""
    told = [e for e in events if "not running at top speed" in e.raw]
    if not told:
        return ()
    says = f"The link runs at {now:g} Mb/s, and the device can do {HIGH:g} Mb/s"
    lines = tuple(e.raw for e in told)
    if socket is None or socket < HIGH:
        return (unjudged(SPEED, f"{says}; what this socket can do is not known", now, "Mb/s"),)
    found = finding(SPEED, True, now, f"{says}, as can this socket.", "Mb/s")
    return (found.with_details(lines),)


def resets(events: Sequence[KernelEvent]) -> tuple[Finding, ...]:
    """Resets since the start: told here, judged with the kernel's messages where they are many."""
    found = [e for e in events if e.says == "the device was reset"]
    if not found:
        return ()
    why = "a reset also comes with waking up and with some drivers; many of them are judged"
    return (unjudged(RESETS, why, len(found), "resets"),)


def _socket(place: Place, context: Context) -> Iterator[Yield]:
    count = place.over_current_count
    logged = any(e.subsystem == "usb" and e.layer == "power" and e.serious for e in context.events)
    if count is not None:
        times = f"{count} times" if count else "never"
        says = f"{place.name} {times} switched off for too much current since the start."
        one = finding(OVER_CURRENT, count > 0, count, says, "times")
        if count and logged:
            # The kernel's messages of the same thing are a reading of their own already.
            one = unjudged(OVER_CURRENT, "judged with the kernel's messages", count, "times")
        yield one.reading(place.id, "over_current_count")
    fitted = [p for p in context.inventory.parts if p.place == place.id]
    if fitted and place.external:
        says = f"{place.name} was tried: {fitted[0].name} answers in it."
        yield Reading(
            check=ANSWERS,
            at=place.id,
            outcome=Outcome.PASSED,
            value="answers",
            source="enumeration",
            says=says,
        )
    elif place.external:
        yield NotTested(
            what="USB socket", why="nothing is plugged in: try a known-good stick", at=place.id
        )
