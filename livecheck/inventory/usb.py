"""USB: hubs of the board, and what is plugged or wired into their ports."""

from __future__ import annotations

from typing import Final

from livecheck import host as hosts
from livecheck.host import Host
from livecheck.inventory import usb_speed
from livecheck.inventory.tree import Contribution, Seen, device_of, identity, known, part_id
from livecheck.inventory.usb_device import BLUETOOTH, UsbDevice, name, ports_of, read
from livecheck.inventory.usb_places import UsbTree, places
from livecheck.records import Controller, Device, Part, UsbFacts

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


def find(host: Host, seen: Seen) -> Contribution:
    """Hubs of the board, ports, and the devices in them."""
    listed = {d.name: d for d in host.udev("usb") if d.properties.get("DEVTYPE") == "usb_device"}
    ports = ports_of(host, {own: d.path for own, d in sorted(listed.items())})
    devices = {own: read(host, d, ports) for own, d in listed.items()}
    outside = _outside_hubs(devices)
    controllers, parts, records = [], [], []
    owners: dict[str, str] = {}
    for device in sorted(devices.values(), key=lambda d: (d.name.count("."), d.name)):
        controller = seen.controller_of(seen.owner(device.path))
        card = _card_of(device, seen)
        if device.port is None:
            owners[device.name] = controller or "mainboard"
        elif device.hub and device.name not in outside:
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
    hubs = frozenset(c.id for c in controllers)
    tree = UsbTree(ports=ports, devices=devices, hubs=hubs, outside=outside)
    return Contribution(
        controllers=tuple(controllers),
        places=places(tree, seen),
        parts=tuple(parts),
        devices=tuple(records),
    )


def _outside_hubs(devices: dict[str, UsbDevice]) -> frozenset[str]:
    """Hubs that are not the board's: plugged in from outside, with all behind them."""
    gone: set[str] = set()
    for device in sorted(devices.values(), key=lambda d: d.name.count(".")):
        if device.above in gone or (device.port and device.hub and device.plugged):
            gone.add(device.name)
    return frozenset(n for n in gone if devices[n].hub)


def _card_of(device: UsbDevice, seen: Seen) -> str | None:
    """Id of the wireless card whose Bluetooth half this is, if that can be told.

    An M.2 card carries PCI Express for one radio and USB for the other. They are
    taken for one card when the machine has one wireless card, the radio is not
    plugged in from outside, and the maker of both chips is the same or the USB half
    carries the id of a maker of cards rather than chips (common practice, no source).
    """
    if not any(code == BLUETOOTH for code in device.classes) or device.plugged:
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
        name=name(device, seen.names),
        parent=parent,
        attributes=known({"usb": device.name, "usb_id": device.usb_id}),
    )


def _part(host: Host, device: UsbDevice, seen: Seen) -> Part:
    kind = _kind(device)
    serial = hosts.text(host, f"{device.path}/serial")
    # Makers repeat serials between products, so the product is part of the identity;
    # a drive is known by its own serial wherever it is plugged in.
    identified_by = identity("serial", serial)
    if identified_by and kind != "drive":
        identified_by = f"serial:{device.usb_id}:{identified_by.partition(':')[2]}"
    place = f"usb:{device.port}"
    return Part(
        id=part_id(kind, identified_by, place),
        kind=kind,
        name=name(device, seen.names),
        place=place,
        identity=identified_by,
        vendor=hosts.text(host, f"{device.path}/manufacturer")
        or seen.names.usb_vendor(device.vendor),
        model=hosts.text(host, f"{device.path}/product"),
        serial=serial,
        firmware=hosts.text(host, f"{device.path}/bcdDevice"),
        usb=device.name,
        usb_id=device.usb_id,
    )


def _kind(device: UsbDevice) -> str:
    bases = {code[0] for code in device.classes}
    for base, kind in KINDS.items():
        if base in bases:
            return kind
    if any(code == BLUETOOTH for code in device.classes):
        return "wireless-card" if device.inside else "usb-device"
    return "usb-device"


def _record(host: Host, device: UsbDevice, component: str, seen: Seen) -> Device:
    facts = UsbFacts(
        speed_mbps=usb_speed.running(host, device.path),
        max_mbps=usb_speed.device_max(host, device.path),
        bluetooth=BLUETOOTH in device.classes,
    )
    more = {"usb_id": device.usb_id, "removable": device.removable}
    return device_of(device.listed, component, name(device, seen.names), facts, {**more})
