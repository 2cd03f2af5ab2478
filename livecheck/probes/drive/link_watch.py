"""The way to a drive before and after it was read: what rose meanwhile is present trouble.

Counters of a drive's whole life say little about now; the difference over a load does.
Beside the counters stand the kernel's own messages of the time between, and the speed
of the link: the kernel slows a link that fails (Linux 6.12 ``drivers/ata/libata-eh.c``).
"""

from __future__ import annotations

from typing import Final

from livecheck import kernel_log
from livecheck.host import Host, KernelMessage, Unreadable, text
from livecheck.inventory.ata import speed
from livecheck.probes import Context
from livecheck.probes.bus import pcie
from livecheck.probes.drive import smart, smart_ata_judge
from livecheck.probes.drive.smart_data import AtaHealth
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import Device, KernelEvent, Part, Record

CHANGE: Final = "storage.link-change"
SLOWED: Final = "storage.link-slowed"


class LinkState(Record, frozen=True, kw_only=True):
    """The way to one drive at one moment; None: not known."""

    ata: AtaHealth | None = None
    failing: bool = False
    """True: the drive said of itself that it is failing."""
    pcie_errors: int | None = None
    speed: float | None = None
    """Of the link: Gb/s (SATA) or GT/s (PCI Express)."""
    width: int | None = None
    """Lanes of a PCI Express link."""
    newest: float = -1.0
    """Time of the kernel's last message."""


def take(context: Context, part: Part, block: str) -> LinkState:
    """How the way to a drive stands now. Asks the drive itself where it counts (root)."""
    host = context.host
    newest = max((m.seconds for m in _messages(host)), default=-1.0)
    ends = pcie_ends(context, part)
    if ends is not None:
        near, far = (pcie.read_end(host, one) for one in ends)
        counted = near.counted or far.counted
        return LinkState(
            pcie_errors=pcie.link_errors(near, far) if counted else None,
            speed=_leading_number(text(host, f"{ends[1].path}/current_link_speed")),
            width=_whole(text(host, f"{ends[1].path}/current_link_width")),
            newest=newest,
        )
    asked = None
    node = smart.node(host, part.scsi, block)
    if host.facts().as_root:
        asked = smart.ask(host, node)
    return LinkState(
        ata=asked.ata if asked else None,
        failing=asked is not None and asked.passed is False,
        speed=_sata_speed(context, part),
        newest=newest,
    )


def pcie_ends(context: Context, part: Part) -> tuple[Device, Device] | None:
    """Port above and function of a part on PCI Express."""
    devices = {d.name: d for d in context.inventory.devices if d.subsystem == "pci"}
    for device in devices.values():
        above = pcie.port_above(device, devices)
        if device.component == part.id and above is not None:
            return above, device
    return None


def _sata_speed(context: Context, part: Part) -> float | None:
    place = next((p for p in context.inventory.places if p.id == part.place), None)
    port = place.ata if place is not None else None
    if port is None:
        return None
    link = f"link{port[3:]}"
    return speed(text(context.host, f"/sys/class/ata_link/{link}/sata_spd"))


def _leading_number(words: str | None) -> float | None:
    """``8.0 GT/s PCIe`` -> 8.0; ``Unknown`` -> None."""
    try:
        return float((words or "").partition(" ")[0])
    except ValueError:
        return None


def _whole(words: str | None) -> int | None:
    return int(words) if words and words.isascii() and words.isdigit() else None


def _messages(host: Host) -> tuple[KernelMessage, ...]:
    try:
        return host.kernel_log()
    except Unreadable:
        return ()


def new_events(context: Context, part: str, since: float) -> tuple[KernelEvent, ...]:
    """Serious messages of link and host bus that name a component and came later."""
    fresh = [m for m in _messages(context.host) if m.seconds > since]
    events = kernel_log.attach(kernel_log.events(fresh), context.inventory)
    return tuple(
        e for e in events if e.component == part and e.serious and e.layer in ("link", "host bus")
    )


def rise(before: LinkState, after: LinkState) -> int | None:
    """How far the link's error counters rose; None where none can be read."""
    if before.ata is not None and after.ata is not None:
        return smart_ata_judge.link_change(before.ata, after.ata)
    if before.pcie_errors is not None and after.pcie_errors is not None:
        return max(0, after.pcie_errors - before.pcie_errors)
    return None


def change(
    before: LinkState, after: LinkState | None, events: tuple[KernelEvent, ...] = ()
) -> Finding:
    """Damage on the way while the drive was read; ``events``: the kernel's, of that time."""
    risen = rise(before, after) if after is not None else None
    lines = tuple(f"[{e.seconds:.3f}] {e.raw}" for e in events[:8])
    if events and not risen:
        says = f"While the drive was read the kernel logged: {events[0].says}."
        return finding(CHANGE, True, len(events), says, "errors").with_details(lines)
    if risen is None:
        return unjudged(CHANGE, "neither drive nor port keeps link counters that can be read")
    says = "No transfer was damaged on the way while the drive was read."
    if risen:
        says = f"{risen} transfers were damaged on the way while the drive was read."
    return finding(CHANGE, risen > 0, risen, says, "errors").with_details(lines)


def slowed(before: LinkState, after: LinkState | None) -> tuple[Finding, ...]:
    """Whether the link ended slower or narrower than it began; nothing where that is unknown."""
    if after is None or before.speed is None or after.speed is None:
        return ()
    unit = "GT/s" if before.pcie_errors is not None or before.width is not None else "Gb/s"
    narrower = (before.width or 0) > (after.width or 0) > 0
    if after.speed < before.speed or narrower:
        lanes = f", {before.width} to {after.width} lanes" if narrower else ""
        says = (
            f"The link went from {before.speed:g} to {after.speed:g} {unit}{lanes} while the "
            "drive was read: the kernel or the hardware gave up the faster one."
        )
        return (finding(SLOWED, True, after.speed, says, unit),)
    says = f"The link kept its {after.speed:g} {unit} while the drive was read."
    return (finding(SLOWED, False, after.speed, says, unit),)
