"""SATA ports: what the link of each says, and the drive behind it.

The kernel shows no SStatus register in sysfs, but logs it whenever a link goes up
or stays down: ``ata2: SATA link down (SStatus 0 SControl 300)``. Its low four bits,
DET, are 0: nothing senses a device, 1: a device is sensed and does not answer,
3: both, 4: port switched off (SATA; AHCI 3.3.10).
"""

from __future__ import annotations

import re
from typing import Final

import msgspec

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice, Unreadable
from livecheck.inventory import scsi
from livecheck.inventory.tree import Contribution, Seen, device_of, known
from livecheck.records import Device, Part, Place, Presence, Record

LINK_LINE: Final = re.compile(
    r"^(ata\d+)(?:\.\d+)?: SATA link (?:up|down) .*?\(SStatus ([0-9A-Fa-f]+) "
)
DUMMY_LINE: Final = re.compile(r"^(ata\d+): DUMMY")


class LinkLog(Record, frozen=True, kw_only=True):
    """What the kernel said of the ports' links, by the kernel's port name."""

    sstatus: dict[str, int]
    """The last value logged."""
    dummies: frozenset[str]
    """Ports the controller does not have."""


def find(host: Host, seen: Seen) -> Contribution:
    """Ports, links and drives of SATA controllers."""
    listed = host.udev("ata_port")
    if not listed:
        return Contribution()
    log, gaps = _link_log(host)
    places: list[Place] = []
    parts: list[Part] = []
    devices: list[Device] = []
    answering = scsi.devices(host)
    drives = [d for d in answering if scsi.is_drive(host, d)]
    for port in listed:
        if port.name in log.dummies:
            continue
        base = port.path.partition("/ata_port/")[0]
        owner = seen.controller_of(seen.owner(base))
        place_id = f"ata:{(owner or 'board').removeprefix('pci:')}:{_number(host, port, listed)}"
        fitted = [d for d in drives if d.path.startswith(f"{base}/")]
        found = [scsi.part(host, d, place_id) for d in fitted]
        sstatus = log.sstatus.get(port.name)
        place = _place(host, port, place_id, sstatus)
        # What answers and does not say what it is, is not silent.
        answers = any(d.path.startswith(f"{base}/") for d in answering)
        presence = _presence(bool(found), None if answers else sstatus)
        places.append(msgspec.structs.replace(place, controller=owner, presence=presence))
        parts.extend(found)
        part = found[0].id if found else None
        devices.append(device_of(port, place_id, f"SATA port {place_id.rpartition(':')[2]}"))
        devices.extend(_below(host, base, part))
        devices.extend(device_of(d, p.id, p.name) for d, p in zip(fitted, found, strict=True))
    return Contribution(places=tuple(places), parts=tuple(parts), devices=tuple(devices), gaps=gaps)


def _number(host: Host, port: UdevDevice, listed: tuple[UdevDevice, ...]) -> int:
    """Number of the port at its controller, counted from 1."""
    number = hosts.number(host, f"{port.path}/port_no")
    if number is not None and number > 0:
        return number
    controller = port.path.partition("/ata_port/")[0].rpartition("/")[0]
    beside = [int(p.name[3:]) for p in listed if p.path.startswith(f"{controller}/ata")]
    return int(port.name[3:]) - min(beside) + 1


def _place(host: Host, port: UdevDevice, place_id: str, sstatus: int | None) -> Place:
    number = place_id.rpartition(":")[2]
    base = port.path.partition("/ata_port/")[0]
    link = f"{base}/link{port.name[3:]}/ata_link/link{port.name[3:]}"
    return Place(
        id=place_id,
        kind="sata-port",
        name=f"SATA port {number}",
        ata=port.name,
        port_max_gbps=speed(hosts.text(host, f"{link}/hw_sata_spd_limit")),
        attributes=known(
            {
                "sstatus": sstatus,
                "link_gbps": speed(hosts.text(host, f"{link}/sata_spd")),
                "link_limit_gbps": speed(hosts.text(host, f"{link}/sata_spd_limit")),
            }
        ),
    )


def _presence(answers: bool, sstatus: int | None) -> Presence:
    if answers:
        return Presence.SEEN
    if sstatus is None:
        return Presence.UNKNOWN
    return {
        0: Presence.EMPTY,
        1: Presence.NOTHING_ANSWERS,
        3: Presence.NOTHING_ANSWERS,
    }.get(sstatus & 0xF, Presence.UNKNOWN)


def speed(words: str | None) -> float | None:
    """``6.0 Gbps`` -> 6.0; ``<unknown>`` -> None."""
    match = re.fullmatch(r"([\d.]+) Gbps", words or "")
    return float(match[1]) if match else None


def _below(host: Host, base: str, part: str | None) -> list[Device]:
    """The kernel's ATA devices of a port that has a drive: what ``ata1.00`` names in its log."""
    if part is None:
        return []
    found = []
    for device in host.udev("ata_device"):
        if not device.path.startswith(f"{base}/"):
            continue
        kind = hosts.text(host, f"{device.path}/class")
        if kind in ("ata", "atapi"):
            # dev1.0 is ata1.00 in the kernel's log.
            port, _, number = device.name.removeprefix("dev").rpartition(".")
            log_name = f"ata{port}.{int(number):02d}" if number.isdigit() else None
            found.append(device_of(device, part, None, None, {"log_name": log_name, "class": kind}))
    return found


def _link_log(host: Host) -> tuple[LinkLog, tuple[str, ...]]:
    try:
        messages = host.kernel_log()
    except Unreadable:
        gap = "Whether empty SATA ports sense a drive is not known: it stands in the kernel's log."
        return LinkLog(sstatus={}, dummies=frozenset()), (gap,)
    matches = [m for m in (LINK_LINE.match(message.text) for message in messages) if m]
    dummies = [m for m in (DUMMY_LINE.match(message.text) for message in messages) if m]
    return LinkLog(
        sstatus={m[1]: int(m[2], 16) for m in matches},
        dummies=frozenset(m[1] for m in dummies),
    ), ()
