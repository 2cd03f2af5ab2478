"""NVMe controllers and their namespaces: devices of the drives that PCI found."""

from __future__ import annotations

import re

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory import scsi
from livecheck.inventory.tree import Contribution, Seen, device_of
from livecheck.records import BlockFacts, Device, NvmeFacts, Part


def find(host: Host, seen: Seen) -> Contribution:
    """Names of controllers and namespaces, and which drive each belongs to."""
    namespaces = [d for d in host.udev("block") if d.name.startswith("nvme")]
    devices: list[Device] = []
    parts: list[Part] = []
    for controller in host.udev("nvme"):
        if not re.fullmatch(r"nvme\d+", controller.name):
            continue
        owner = seen.owner(controller.path)
        facts = NvmeFacts(state=hosts.text(host, f"{controller.path}/state"))
        more = {"transport": hosts.text(host, f"{controller.path}/transport")}
        devices.append(device_of(controller, owner, _model(host, controller), facts, {**more}))
        own = _namespaces_of(host, controller, namespaces)
        devices.extend(device_of(n, owner, None, _block(host, n)) for n in own)
        if owner in seen.parts and own:
            disk = min(own, key=lambda n: len(n.name))
            parts.append(_with_block(seen.parts[owner], disk.name, host, disk))
    return Contribution(parts=tuple(parts), devices=tuple(devices))


def _with_block(part: Part, name: str, host: Host, disk: UdevDevice) -> Part:
    return Part(
        id=part.id,
        kind=part.kind,
        name=part.name,
        place=part.place,
        block=name,
        size_bytes=scsi.size_bytes(host, disk.path),
    )


def _model(host: Host, controller: UdevDevice) -> str | None:
    return hosts.text(host, f"{controller.path}/model")


def _namespaces_of(
    host: Host, controller: UdevDevice, namespaces: list[UdevDevice]
) -> list[UdevDevice]:
    """Whole and partitioned namespaces of a controller.

    With multipath support the kernel keeps them under a virtual subsystem that
    lists the controllers it has.
    """
    folders = [f"{controller.path}/"]
    for subsystem in host.names("/sys/class/nvme-subsystem"):
        folder = f"/sys/class/nvme-subsystem/{subsystem}"
        if controller.name in host.names(folder):
            target = host.target(folder)
            folders.append(f"{target or folder}/")
    return [n for n in namespaces if any(n.path.startswith(f) for f in folders)]


def _block(host: Host, namespace: UdevDevice) -> BlockFacts:
    return BlockFacts(
        size_bytes=scsi.size_bytes(host, namespace.path),
        partition=namespace.properties.get("DEVTYPE") == "partition",
    )
