"""The processor and its socket, by the firmware's table and by the kernel."""

from __future__ import annotations

import re

from livecheck import host as hosts
from livecheck.host import Host
from livecheck.inventory import tree
from livecheck.inventory.smbios_codes import CENTRAL_PROCESSOR, SOLDERED_SOCKETS
from livecheck.inventory.smbios_types import Processor
from livecheck.inventory.tree import known, part_id
from livecheck.records import Part, Place, Presence


def name(host: Host, processors: tuple[Processor, ...]) -> str | None:
    """The model, as the kernel writes it, else as the firmware does."""
    by_kernel = re.search(r"^model name\s*:\s*(.+)$", _cpuinfo(host), re.MULTILINE)
    if by_kernel:
        return " ".join(by_kernel[1].split())
    return next((p.version for p in processors if p.version), None)


def _cpuinfo(host: Host) -> str:
    return hosts.text(host, "/proc/cpuinfo") or ""


def find(
    host: Host, processors: tuple[Processor, ...]
) -> tuple[tuple[Place, ...], tuple[Part, ...]]:
    """Sockets and processors; one of each where the firmware tells of none."""
    central = [p for p in processors if p.kind in (CENTRAL_PROCESSOR, None)]
    model = name(host, processors) or "processor"
    cpus = len(re.findall(r"^processor\s*:", _cpuinfo(host), re.MULTILINE)) or None
    if not central:
        place = Place(
            id="socket:0", kind="processor-socket", name="processor", presence=Presence.SEEN
        )
        part = Part(
            id=f"processor@{place.id}",
            kind="processor",
            name=model,
            place=place.id,
            model=model,
            attributes=known({"logical_processors": cpus}),
        )
        return (place,), (part,)
    named = [(f"socket:{p.socket or i}", p) for i, p in enumerate(central)]
    # Two sockets of one name would be one component.
    unique = dict(reversed(named))
    places = tuple(_socket(id_, p) for id_, p in unique.items())
    parts = tuple(
        _processor(id_, p, model, cpus) for id_, p in unique.items() if p.populated is not False
    )
    return places, parts


def _socket(place: str, processor: Processor) -> Place:
    presence = {True: Presence.SEEN, False: Presence.EMPTY, None: Presence.UNKNOWN}
    return Place(
        id=place,
        kind="processor-socket",
        name=f"processor place {processor.socket or ''}".strip(),
        presence=presence[processor.populated],
        expects="processor",
    )


def _processor(place: str, processor: Processor, name: str, cpus: int | None) -> Part:
    identified_by = tree.identity("serial", processor.serial)
    return Part(
        id=part_id("processor", identified_by, place),
        kind="processor",
        name=name,
        place=place,
        identity=identified_by,
        vendor=processor.maker,
        model=name,
        serial=processor.serial,
        soldered=processor.upgrade in SOLDERED_SOCKETS,
        attributes=known(
            {
                "cores": processor.cores,
                "cores_enabled": processor.cores_enabled,
                "threads": processor.threads,
                "logical_processors": cpus,
                "max_mhz": processor.max_mhz,
                "part_number": processor.part_number,
            }
        ),
    )
