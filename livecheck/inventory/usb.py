"""USB: hubs of the board, ports, and what is plugged or wired into them.

A port says whether it can be reached from outside: ``connect_type`` hotplug,
hardwired, "not used" or unknown (Documentation/ABI/testing/sysfs-bus-usb). A
socket with a fast and a slow half is two ports of the kernel's; they name each
other as ``peer`` and are one place here, under the name of the slower bus.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory import usb_speed
from livecheck.inventory.tree import Contribution, Seen, device_of, identity, known, part_id
from livecheck.records import Controller, Device, Part, Place, Presence, Record, UsbFacts

HUB: Final = 0x09
BLUETOOTH: Final = (0xE0, 0x01, 0x01)
KINDS: Final = {
    0x08: "drive",
    0x0E: "camera",
}
"""Interface class -> kind of part, as far as the class decides it (usb.org class codes)."""

CARD_MAKERS: Final = {
    0x8087: (0x8086,),
    0x0BDA: (0x10EC,),
    0x0E8D: (0x14C3,),
    0x0CF3: (0x168C, 0x17CB),
    0x0A5C: (0x14E4,),
}
"""Makers of radio chips: USB vendor id -> PCI vendor ids (ID database)."""


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
    def inside(self) -> bool:
        """True: wired into the machine, as far as its firmware says."""
        return self.connect == "hardwired" or (
            self.connect != "hotplug" and self.removable == "fixed"
        )


class Port(Record, frozen=True, kw_only=True):
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


def find(host: Host, seen: Seen) -> Contribution:
    """Hubs of the board, ports, and the devices in them."""
    listed = {d.name: d for d in host.udev("usb") if d.properties.get("DEVTYPE") == "usb_device"}
    ports = _ports(host, {name: d.path for name, d in sorted(listed.items())})
    devices = {name: _device(host, d, ports) for name, d in listed.items()}
    gone = _inside_parts(devices)
    controllers, parts, records = [], [], []
    owners: dict[str, str] = {}
    for device in sorted(devices.values(), key=lambda d: (d.name.count("."), d.name)):
        controller = seen.controller_of(seen.owner(device.path))
        card = _card_of(device, seen)
        if device.port is None:
            owners[device.name] = controller or "mainboard"
        elif device.hub and device.name not in gone:
            hub = _hub(device, devices, controller, seen)
            controllers.append(hub)
            owners[device.name] = hub.id
        elif card is not None:
            owners[device.name] = card
        else:
            part = _part(host, device, seen)
            parts.append(part)
            owners[device.name] = part.id
        records.append(_record(host, device, owners[device.name], seen))
    hubs = {c.id for c in controllers}
    return Contribution(
        controllers=tuple(controllers),
        places=_places(ports, devices, hubs, gone, seen),
        parts=tuple(parts),
        devices=tuple(records),
    )


# --- Reading


def _ports(host: Host, hubs: dict[str, str]) -> dict[str, Port]:
    """Ports of all hubs by name; ``hubs``: name -> sysfs path of each device."""
    found: dict[str, Port] = {}
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
            found[name] = Port(
                name=name,
                hub=hub,
                place=min(name, peer, key=_bus_order) if peer else name,
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


def _bus_order(name: str) -> tuple[int, str]:
    return int(name.partition("-")[0]), name


def _device(host: Host, listed: UdevDevice, ports: dict[str, Port]) -> UsbDevice:
    path, name = listed.path, listed.name
    root = name.startswith("usb")
    port = ports.get(name)
    above = None if root else _hub_above(name)
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


def _hub_above(name: str) -> str:
    if "." in name:
        return name.rpartition(".")[0]
    return f"usb{name.partition('-')[0]}"


def _class_of(host: Host, folder: str, of: str) -> tuple[int, int, int]:
    codes = [
        hosts.number(host, f"{folder}/{of}{part}", 16) or 0
        for part in ("Class", "SubClass", "Protocol")
    ]
    return codes[0], codes[1], codes[2]


# --- What belongs where


def _inside_parts(devices: dict[str, UsbDevice]) -> frozenset[str]:
    """Hubs that are not the board's: plugged in from outside, with all behind them."""
    gone: set[str] = set()
    for device in sorted(devices.values(), key=lambda d: d.name.count(".")):
        if device.above in gone or (device.port and device.hub and _plugged(device)):
            gone.add(device.name)
    return frozenset(n for n in gone if devices[n].hub)


def _plugged(device: UsbDevice) -> bool:
    return device.connect == "hotplug" or device.removable == "removable"


def _card_of(device: UsbDevice, seen: Seen) -> str | None:
    """Id of the wireless card whose Bluetooth half this is, if that can be told.

    An M.2 card carries PCI Express for one radio and USB for the other. They are
    taken for one card when the machine has one wireless card, the radio is not
    plugged in from outside, and the maker of both chips is the same or the USB half
    carries the id of a maker of cards rather than chips (common practice, no source).
    """
    if not any(code == BLUETOOTH for code in device.classes) or _plugged(device):
        return None
    cards = [p for p in seen.parts.values() if p.kind == "wireless-card"]
    if len(cards) != 1:
        return None
    makers = CARD_MAKERS.get(device.vendor)
    chip = int((cards[0].pci_id or "0").partition(":")[0], 16)
    return cards[0].id if makers is None or chip in makers else None


def _hub(
    device: UsbDevice, devices: dict[str, UsbDevice], controller: str | None, seen: Seen
) -> Controller:
    above = devices.get(device.above or "")
    parent = f"usbhub:{above.port}" if above is not None and above.port else controller
    return Controller(
        id=f"usbhub:{device.port}",
        kind="usb-hub",
        name=_name(device, seen),
        parent=parent,
        attributes=known({"usb": device.name, "usb_id": _usb_id(device)}),
    )


def _part(host: Host, device: UsbDevice, seen: Seen) -> Part:
    kind = _kind(device)
    serial = hosts.text(host, f"{device.path}/serial")
    # Makers repeat serials between products, so the product is part of the identity;
    # a drive is known by its own serial wherever it is plugged in.
    identified_by = identity("serial", serial)
    if identified_by and kind != "drive":
        identified_by = f"serial:{_usb_id(device)}:{identified_by.partition(':')[2]}"
    place = f"usb:{device.port}"
    return Part(
        id=part_id(kind, identified_by, place),
        kind=kind,
        name=_name(device, seen),
        place=place,
        identity=identified_by,
        vendor=hosts.text(host, f"{device.path}/manufacturer")
        or seen.names.usb_vendor(device.vendor),
        model=hosts.text(host, f"{device.path}/product"),
        serial=serial,
        firmware=hosts.text(host, f"{device.path}/bcdDevice"),
        usb=device.name,
        usb_id=_usb_id(device),
    )


def _kind(device: UsbDevice) -> str:
    bases = {code[0] for code in device.classes}
    for base, kind in KINDS.items():
        if base in bases:
            return kind
    if any(code == BLUETOOTH for code in device.classes):
        return "wireless-card" if device.inside else "usb-device"
    return "usb-device"


def _places(
    ports: dict[str, Port],
    devices: dict[str, UsbDevice],
    hubs: set[str],
    gone: frozenset[str],
    seen: Seen,
) -> tuple[Place, ...]:
    """A place for each port that has something in it or that firmware says is wired."""
    taken = {d.port for d in devices.values() if d.port and f"usbhub:{d.port}" not in hubs}
    wired = {
        p.place
        for p in ports.values()
        if p.connect in ("hotplug", "hardwired") and p.hub not in gone
    }
    board = {d.port for d in devices.values() if f"usbhub:{d.port}" in hubs}
    return tuple(
        _place(name, ports, devices, hubs, gone, seen)
        for name in sorted((taken | wired) - board, key=_bus_order)
    )


def _place(
    name: str,
    ports: dict[str, Port],
    devices: dict[str, UsbDevice],
    hubs: set[str],
    gone: frozenset[str],
    seen: Seen,
) -> Place:
    port = ports.get(name)
    above = devices.get(_hub_above(name))
    fitted = next((d for d in devices.values() if d.port == name), None)
    controller = seen.controller_of(seen.owner(above.path)) if above else None
    if above is not None and f"usbhub:{above.port}" in hubs:
        controller = f"usbhub:{above.port}"
    behind = any(name.startswith(f"{hub}.") for hub in gone)
    outside = (port is not None and port.connect == "hotplug") or behind
    if fitted is not None:
        outside = outside or _plugged(fitted)
    halves = [p for p in ports.values() if p.place == name]
    side = next((p.where for p in halves if p.where), None)
    hint = side if outside or fitted is None else "inside"
    return Place(
        id=f"usb:{name}",
        kind="usb-port",
        name=f"USB port {name} ({hint})" if hint else f"USB port {name}",
        controller=controller,
        presence=Presence.SEEN if fitted is not None else Presence.UNKNOWN,
        external=outside,
        over_current_count=_over_currents(halves),
        port_max_mbps=_port_max(halves),
        attributes=known({"connect_type": port.connect if port else None, "where": side}),
    )


def _over_currents(halves: list[Port]) -> int | None:
    counts = [p.over_current for p in halves if p.over_current is not None]
    return sum(counts) if counts else None


def _port_max(halves: list[Port]) -> float | None:
    """Mb/s of the socket's faster half; None unless firmware says which halves belong together."""
    speeds = [p.hub_mbps for p in halves if p.located and p.hub_mbps is not None]
    return max(speeds) if speeds and all(p.located for p in halves) else None


def _record(host: Host, device: UsbDevice, component: str, seen: Seen) -> Device:
    facts = UsbFacts(
        speed_mbps=usb_speed.running(host, device.path),
        max_mbps=usb_speed.device_max(host, device.path),
        bluetooth=BLUETOOTH in device.classes,
    )
    more = {"usb_id": _usb_id(device), "removable": device.removable}
    return device_of(device.listed, component, _name(device, seen), facts, {**more})


def _usb_id(device: UsbDevice) -> str:
    return f"{device.vendor:04x}:{device.product:04x}"


def _name(device: UsbDevice, seen: Seen) -> str:
    found = seen.names.usb_product(device.vendor, device.product)
    spoken = device.listed.properties.get("ID_MODEL_FROM_DATABASE")
    maker = seen.names.usb_vendor(device.vendor)
    plain = f"{maker} USB device" if maker else f"USB device {_usb_id(device)}"
    return found or spoken or plain
