"""USB devices and the ports they are in, as they are read.

A socket with a fast and a slow half is two ports of the kernel's; they name each
other as ``peer`` and are one place here, under the name of the slower bus.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory import usb_speed
from livecheck.inventory.ids import IdDatabase
from livecheck.records import Record

HUB: Final = 0x09

BLUETOOTH: Final = (0xE0, 0x01, 0x01)


class UsbDevice(Record, frozen=True, kw_only=True):
    """One USB device and the port it is in."""

    name: str
    path: str
    vendor: int
    product: int
    classes: frozenset[tuple[int, int, int]]
    """Class, subclass, protocol of the device and of its interfaces."""
    port: str | None
    """Place key of its port, such as ``1-4``; None for a root hub."""
    above: str | None
    """Name of the hub it is in."""
    connect: str | None
    """Of its port: hotplug, hardwired, not used, unknown."""
    removable: str | None
    listed: UdevDevice

    @property
    def hub(self) -> bool:
        return any(code[0] == HUB for code in self.classes)

    @property
    def usb_id(self) -> str:
        """Vendor and product."""
        return f"{self.vendor:04x}:{self.product:04x}"

    @property
    def plugged(self) -> bool:
        """True: plugged in from outside, as far as firmware or device say."""
        return self.connect == "hotplug" or self.removable == "removable"

    @property
    def inside(self) -> bool:
        """True: wired into the machine, as far as its firmware says."""
        return self.connect == "hardwired" or (
            self.connect != "hotplug" and self.removable == "fixed"
        )


class UsbPort(Record, frozen=True, kw_only=True):
    """One port of a hub, by its own name (``1-4``)."""

    name: str
    hub: str
    place: str
    """Name of the port whose place this is: itself, or its slower half."""
    connect: str | None
    over_current: int | None
    located: bool = False
    """Whether firmware says where it is; only then is the pairing of halves certain."""
    where: str | None = None
    hub_mbps: float | None = None
    """What its hub runs at: what the port can do."""


def ports_of(host: Host, hubs: dict[str, str]) -> dict[str, UsbPort]:
    """Ports of all hubs by name; ``hubs``: name -> sysfs path of each device."""
    found: dict[str, UsbPort] = {}
    for hub in hubs:
        root = re.fullmatch(r"usb(\d+)", hub)
        interface = f"{root[1]}-0:1.0" if root else f"{hub}:1.0"
        folder = f"{hubs[hub]}/{interface}"
        for entry in host.names(folder):
            match = re.fullmatch(re.escape(hub) + r"-port(\d+)", entry)
            if not match:
                continue
            name = f"{root[1]}-{match[1]}" if root else f"{hub}.{match[1]}"
            peer = _peer(host.target(f"{folder}/{entry}/peer"))
            found[name] = UsbPort(
                name=name,
                hub=hub,
                place=min(name, peer, key=bus_order) if peer else name,
                connect=hosts.text(host, f"{folder}/{entry}/connect_type"),
                over_current=hosts.number(host, f"{folder}/{entry}/over_current_count"),
                located=usb_speed.located(host, f"{folder}/{entry}"),
                where=usb_speed.where(host, f"{folder}/{entry}"),
                hub_mbps=usb_speed.running(host, hubs[hub]),
            )
    return found


def _peer(target: str | None) -> str | None:
    """Name of the port a ``peer`` link ends at."""
    match = re.search(r"/(usb(\d+)|[\d.-]+)-port(\d+)$", target or "")
    if not match:
        return None
    return f"{match[2]}-{match[3]}" if match[2] else f"{match[1]}.{match[3]}"


def bus_order(name: str) -> tuple[int, str]:
    """Sorts ports by bus, then by name."""
    return int(name.partition("-")[0]), name


def read(host: Host, listed: UdevDevice, ports: dict[str, UsbPort]) -> UsbDevice:
    """The device that the udev database lists."""
    path, name = listed.path, listed.name
    root = name.startswith("usb")
    port = ports.get(name)
    above = None if root else hub_above(name)
    folders = [path, *(f"{path}/{n}" for n in host.names(path) if n.startswith(f"{name}:"))]
    return UsbDevice(
        name=name,
        path=path,
        vendor=hosts.number(host, f"{path}/idVendor", 16) or 0,
        product=hosts.number(host, f"{path}/idProduct", 16) or 0,
        classes=frozenset(
            _class_of(host, folder, "bDevice" if folder == path else "bInterface")
            for folder in folders
        ),
        port=None if root else (port.place if port else name),
        above=above,
        connect=port.connect if port else None,
        removable=hosts.text(host, f"{path}/removable"),
        listed=listed,
    )


def hub_above(name: str) -> str:
    """Name of the hub that a port of this name belongs to."""
    if "." in name:
        return name.rpartition(".")[0]
    return f"usb{name.partition('-')[0]}"


def _class_of(host: Host, folder: str, of: str) -> tuple[int, int, int]:
    codes = [
        hosts.number(host, f"{folder}/{of}{part}", 16) or 0
        for part in ("Class", "SubClass", "Protocol")
    ]
    return codes[0], codes[1], codes[2]


def name(device: UsbDevice, names: IdDatabase) -> str:
    """By the ID database, else by what it is."""
    found = names.usb_product(device.vendor, device.product)
    spoken = device.listed.properties.get("ID_MODEL_FROM_DATABASE")
    maker = names.usb_vendor(device.vendor)
    plain = f"{maker} USB device" if maker else f"USB device {device.usb_id}"
    return found or spoken or plain
