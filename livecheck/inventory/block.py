"""Block devices: every one of them, with the part or place it belongs to.

Drives that no bus finder made a part of (UFS, virtual disks) become parts here:
what is left when SATA, USB, NVMe and MMC have taken theirs. Loop, RAM and mapped
devices are the running system's own and belong to the machine as a whole.
"""

from __future__ import annotations

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory import scsi
from livecheck.inventory.tree import Contribution, Seen, device_of, identity, part_id
from livecheck.records import BlockFacts, Device, Part, Place, Presence, Value


def find(host: Host, seen: Seen) -> Contribution:
    """Block devices, and the drives behind those nobody knew."""
    listed = host.udev("block")
    scsi_drives = {d.path: d for d in scsi.drives(host)}
    places: dict[str, Place] = {}
    parts: list[Part] = []
    devices: list[Device] = []
    owners: dict[str, str] = {}
    for block in sorted(listed, key=lambda b: b.path):
        if ("block", block.name) in seen.devices:
            continue
        disk = block.path.partition("/block/")[0]
        owner = owners.get(disk) or seen.owner(block.path)
        if "/devices/virtual/" not in block.path and owner not in seen.parts and disk not in owners:
            place = _place(disk, seen.controller_of(owner), disk in scsi_drives)
            part = _part(host, block, place, scsi_drives.get(disk))
            places[place.id] = place
            parts.append(part)
            owner = owners[disk] = part.id
        devices.append(device_of(block, owner, None, _facts(host, block), _flags(host, block)))
        if disk in scsi_drives and disk in owners:
            devices.append(device_of(scsi_drives[disk], owner))
    return Contribution(places=tuple(places.values()), parts=tuple(parts), devices=tuple(devices))


def _facts(host: Host, block: UdevDevice) -> BlockFacts:
    return BlockFacts(
        size_bytes=scsi.size_bytes(host, block.path),
        partition=block.properties.get("DEVTYPE") == "partition",
        rotational=hosts.flag(host, f"{block.path}/queue/rotational"),
    )


def _flags(host: Host, block: UdevDevice) -> dict[str, Value]:
    return {
        "removable": hosts.flag(host, f"{block.path}/removable"),
        "read_only": hosts.flag(host, f"{block.path}/ro"),
    }


def _place(disk: str, controller: str | None, flash: bool) -> Place:
    where = (controller or disk.removeprefix("/sys/devices/")).removeprefix("pci:")
    return Place(
        id=f"disk:{where}",
        kind="internal-connector",
        name=f"flash on the board ({where})" if flash else f"drive connection ({where})",
        controller=controller,
        presence=Presence.SEEN,
    )


def _part(host: Host, block: UdevDevice, place: Place, device: UdevDevice | None) -> Part:
    if device is not None:
        # A SCSI disk that is neither SATA nor USB is flash on the board (UFS).
        return scsi.part(host, device, place.id, soldered=True)
    serial = hosts.text(host, f"{block.path}/serial")
    identified_by = identity("serial", serial)
    return Part(
        id=part_id("drive", identified_by, place.id),
        kind="drive",
        name=f"drive {block.name}",
        place=place.id,
        identity=identified_by,
        serial=serial,
        block=block.name,
        size_bytes=scsi.size_bytes(host, block.path),
    )
