"""SCSI devices: the kernel's common face of SATA, USB and UFS drives.

Identity: the serial number of vital product data page 80h, else the name the
device gives itself (``wwid``: page 83h, or built from ATA IDENTIFY data).
"""

from __future__ import annotations

from typing import Final

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice, Unreadable
from livecheck.inventory.tree import identity, known, part_id
from livecheck.records import Part

DISK: Final = 0
OPTICAL: Final = 5
"""Peripheral device types (SPC)."""

KINDS: Final = {DISK: "drive", OPTICAL: "optical-drive", 14: "drive"}


def devices(host: Host) -> tuple[UdevDevice, ...]:
    """SCSI devices; hosts and targets left out."""
    return tuple(d for d in host.udev("scsi") if d.name.count(":") == 3)


def drives(host: Host) -> tuple[UdevDevice, ...]:
    """SCSI devices that are drives."""
    return tuple(d for d in devices(host) if is_drive(host, d))


def is_drive(host: Host, device: UdevDevice) -> bool:
    """By the type it tells."""
    return hosts.number(host, f"{device.path}/type") in KINDS


def block_of(host: Host, device: UdevDevice) -> UdevDevice | None:
    """The whole-disk block device of a SCSI device."""
    folder = f"{device.path}/block/"
    return next(
        (
            b
            for b in host.udev("block")
            if b.path.startswith(folder) and b.properties.get("DEVTYPE") != "partition"
        ),
        None,
    )


def part(host: Host, device: UdevDevice, place: str, soldered: bool = False) -> Part:
    """The drive behind a SCSI device."""
    block = block_of(host, device)
    properties = block.properties if block else {}
    serial, wwn = _numbers(host, device)
    identified_by = identity("serial", serial) or identity("wwn", wwn)
    # A number that two drives of one machine claim identifies neither.
    others = (d for d in drives(host) if d.path != device.path)
    if any(_numbers(host, other) == (serial, wwn) for other in others):
        identified_by = None
    kind = KINDS[hosts.number(host, f"{device.path}/type") or 0]
    vendor = hosts.text(host, f"{device.path}/vendor")
    model = _model(host, device.path, properties)
    return Part(
        id=part_id(kind, identified_by, place),
        kind=kind,
        name=model or ("optical drive" if kind == "optical-drive" else "drive"),
        place=place,
        identity=identified_by,
        vendor=None if vendor == "ATA" else vendor,
        model=model,
        serial=serial,
        firmware=hosts.text(host, f"{device.path}/rev"),
        soldered=soldered,
        scsi=device.name,
        block=block.name if block else None,
        size_bytes=size_bytes(host, block.path) if block else None,
        attributes=known({"wwn": wwn}),
    )


def _numbers(host: Host, device: UdevDevice) -> tuple[str | None, str | None]:
    """Serial number and WWN of the drive behind a SCSI device."""
    block = block_of(host, device)
    properties = block.properties if block else {}
    serial = _page_80(host, device.path) or properties.get("ID_SERIAL_SHORT")
    return serial, _wwn(hosts.text(host, f"{device.path}/wwid")) or properties.get("ID_WWN")


def size_bytes(host: Host, block_path: str) -> int | None:
    """Size of a block device; sysfs counts 512-byte units whatever the sector size.

    None for what Linux cannot address: a place on a drive is a loff_t, of 63 bits.
    """
    size = hosts.number(host, f"{block_path}/size")
    return size * 512 if size is not None and 0 <= size < 1 << 54 else None


def _page_80(host: Host, path: str) -> str | None:
    """Unit serial number page: byte 3 is the length, then ASCII (SPC)."""
    try:
        page = host.read(f"{path}/vpd_pg80")
    except Unreadable:
        return None
    if len(page) < 5 or page[1] != 0x80:
        return None
    return page[4 : 4 + page[3]].decode("ascii", "replace").strip("\x00 ") or None


def _wwn(wwid: str | None) -> str | None:
    """``naa.5000…`` or ``eui.…`` as ``0x…``; names built from text are no WWN."""
    if wwid is None or wwid.partition(".")[0] not in ("naa", "eui"):
        return None
    return f"0x{wwid.partition('.')[2]}"


def _model(host: Host, path: str, properties: dict[str, str]) -> str | None:
    """Model: IDENTIFY's forty characters where udev has them, else SCSI's sixteen.

    ``wwid`` of an ATA drive without a WWN holds them too: ``t10.ATA`` + model + serial.
    """
    wwid = hosts.text(host, f"{path}/wwid") or ""
    if wwid.startswith("t10.ATA") and len(wwid) > 52:
        return wwid[11:52].strip() or None
    long = properties.get("ID_MODEL", "").replace("_", " ").strip()
    return long or hosts.text(host, f"{path}/model")
