"""Drives: whether they answer, what they say of themselves, how the way to them runs.

Everything is read; nothing is started, set or written. The drives are asked one
after the other, because one that is dying can block its whole controller.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from livecheck.host import Host
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.drive import flash_life, optical, smart
from livecheck.probes.drive.smart_data import SmartData
from livecheck.probes.drive.smart_judge import judge
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import (
    BlockFacts,
    Device,
    NotTested,
    NvmeFacts,
    Outcome,
    Part,
    Place,
    Presence,
    Reading,
)

KINDS: Final = frozenset({"drive", "optical-drive", "sd-card"})


def probe(context: Context) -> Iterator[Yield]:
    """Readings of every drive and of every place for one."""
    places = {place.id: place for place in context.inventory.places}
    yield from _empty_places(context)
    drives = [part for part in context.inventory.parts if part.kind in KINDS]
    if not drives:
        yield NotTested(what="Drives", why="no drive answers in this machine")
    for number, part in enumerate(drives):
        yield Progress(says=part.name, done=number / len(drives))
        block = _block(context, part)
        for one in _answers(context, part, block):
            yield one.reading(part.id, "sysfs", block)
        if block is None:
            continue
        if part.kind == "optical-drive":
            yield optical.medium(context.host, block).reading(part.id, optical.SOURCE, block)
        if part.kind != "drive":
            continue
        if "mmc" in part.attributes:
            for one in flash_life.judge(context.host, part, context.knowledge.checks):
                yield one.reading(part.id, flash_life.SOURCE, block)
            continue
        data = _asked(context.host, part, block)
        found = judge(data, context.knowledge.checks)
        found += _link_speed(data, places.get(part.place))
        for one in found:
            yield one.reading(part.id, "smartctl", block)


def _block(context: Context, part: Part) -> str | None:
    """Kernel name of the whole disk of a part."""
    if part.block is not None:
        return part.block
    return next((d.name for d in _devices(context, part, "block") if not _is_partition(d)), None)


def _devices(context: Context, part: Part, subsystem: str) -> list[Device]:
    return [
        d for d in context.inventory.devices if d.component == part.id and d.subsystem == subsystem
    ]


def _is_partition(device: Device) -> bool:
    return isinstance(device.facts, BlockFacts) and device.facts.partition


def _asked(host: Host, part: Part, block: str) -> SmartData:
    if not host.facts().as_root:
        return SmartData(trouble="needs root: only root may ask a drive for its health")
    data = smart.ask(host, smart.node(host, part.scsi, block))
    # A bridge to USB has a number of its own, and the drive behind it another.
    if part.place.startswith("usb:") or _same(data.serial, part.serial):
        return data
    return SmartData(
        trouble=f"another drive answered in its place, {data.serial}, so nothing is known of this "
        "one (run it again)"
    )


def _same(told: str | None, known: str | None) -> bool:
    """Whether two serial numbers can be of one drive: blanks and padding are the reader's."""
    one, other = (re.sub(r"[\W_]", "", words or "").upper() for words in (told, known))
    return one in other or other in one


# --- Whether it answers


def _answers(context: Context, part: Part, block: str | None) -> tuple[Finding, ...]:
    """A drive that is on its bus but gives the kernel no medium to read does not answer."""
    check = "storage.answers"
    if any(_is_dead(d) for d in _devices(context, part, "nvme")):
        says = "The drive is on the bus, and the kernel gave it up because it does not answer."
        return (finding(check, True, "dead", says),)
    if block is None:
        if part.kind != "drive":
            return ()
        if _devices(context, part, "pci") and not _driven(context, part):
            return (unjudged(check, "no driver of this kernel takes it"),)
        says = "The drive is on the bus and offers nothing to read."
        return (finding(check, True, "no medium", says),)
    size = next(
        (
            d.facts.size_bytes
            for d in _devices(context, part, "block")
            if d.name == block and isinstance(d.facts, BlockFacts)
        ),
        None,
    )
    if size == 0 and part.kind == "drive":
        says = "The drive answers, but reports a size of zero."
        return (finding(check, True, 0, says, "bytes"),)
    if part.kind == "optical-drive":
        size = None  # the kernel keeps that of the last disc, or one of its own
    return (finding(check, False, size, "The drive answers."),)


def _is_dead(device: Device) -> bool:
    return isinstance(device.facts, NvmeFacts) and device.facts.state == "dead"


def _driven(context: Context, part: Part) -> bool:
    return any(d.driver is not None for d in _devices(context, part, "pci"))


def _empty_places(context: Context) -> Iterator[Reading]:
    """A port that senses a drive with none behind it: seen without any swap."""
    for place in context.inventory.places:
        if place.kind != "sata-port" or place.presence is not Presence.NOTHING_ANSWERS:
            continue
        yield Reading(
            check="storage.port-answers",
            at=place.id,
            outcome=Outcome.FAILED,
            value="sensed, no link",
            source="SStatus in the kernel's log",
            says=f"{place.name} senses a drive, and nothing answers behind it.",
        )


# --- The link of a SATA drive


def _link_speed(data: SmartData, place: Place | None) -> tuple[Finding, ...]:
    """The negotiated speed against the slower of what drive and port can do."""
    current, drive_max = data.link_gbps, data.link_max_gbps
    if current is None or drive_max is None:
        return ()
    port_max = place.port_max_gbps if place is not None else None
    says = f"The link runs at {current:g} Gb/s; the drive can do {drive_max:g} Gb/s"
    if port_max is None:
        if current < drive_max:
            why = f"{says}, and what the port can do is not known"
            return (unjudged("storage.link-speed", why, current, "Gb/s"),)
        return (finding("storage.link-speed", False, current, f"{says}.", "Gb/s"),)
    says += f", the port {port_max:g} Gb/s."
    slow = current < min(drive_max, port_max)
    return (finding("storage.link-speed", slow, current, says, "Gb/s"),)
