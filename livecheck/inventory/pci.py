"""PCI functions: what is on the board, what sits in a slot, and the link between."""

from __future__ import annotations

import re
from typing import Final

from livecheck import host as hosts
from livecheck.host import Host
from livecheck.inventory import config_space, slots
from livecheck.inventory.pci_function import PciFunction, facts_of, is_port, name, read
from livecheck.inventory.pci_parts import BENCH_CASES, CardSigns, main_function, part_kind
from livecheck.inventory.pci_slots import slot_names, slot_of, vacant, vacant_ports
from livecheck.inventory.tree import Contribution, Seen, device_of, identity, known, part_id
from livecheck.records import Controller, Device, Part, Place, Value

KINDS: Final = {
    0x0101: "sata-controller",
    0x0104: "sata-controller",
    0x0105: "sata-controller",
    0x0106: "sata-controller",
    0x0401: "sound-controller",
    0x0403: "sound-controller",
    0x0604: "pci-bridge",
    0x0609: "pci-bridge",
    0x0805: "sd-controller",
    0x0C03: "usb-controller",
}
"""Class and subclass -> kind of controller, as far as the class decides it."""

CLASS_KINDS: Final = {0x02: "network-controller", 0x03: "display-controller"}

DRIVER_KINDS: Final = {"rtsx_pci": "sd-controller", "rtsx_usb": "sd-controller"}


def find(host: Host, seen: Seen) -> Contribution:
    """Controllers, slots, and the parts in the slots."""
    functions = {f.address: f for f in (read(host, d) for d in host.udev("pci")) if f}
    gaps = []
    if functions and not any(f.whole for f in functions.values()):
        gaps.append(
            "Configuration space of PCI functions was readable only in part: links, slot "
            "presence and error bits are not known. Run as root."
        )
    signs = CardSigns(
        names=seen.names,
        bench_case=hosts.number(host, "/sys/class/dmi/id/chassis_type") in BENCH_CASES,
        radio_slots=slots.radio_slots(seen.tables),
    )
    printed = slot_names(host)
    placed: dict[str, Place] = {}
    parts: dict[str, Part] = {}
    controllers: list[Controller] = []
    owner: dict[str, str] = {}
    for function in sorted(functions.values(), key=lambda f: f.path):
        kind = part_kind(function, signs)
        fitted = main_function(function, functions, signs)
        if fitted is None:
            controller = _controller(function, seen)
            controllers.append(controller)
            owner[function.address] = controller.id
        elif kind is not None and fitted is function:
            place = slot_of(function, functions, printed)
            part = _part(host, function, kind, place, seen)
            placed[place.id], parts[part.id] = place, part
            owner[function.address] = part.id
    for function in functions.values():
        if function.address not in owner:
            main = main_function(function, functions, signs)
            owner[function.address] = owner[main.address if main else function.address]
    for port in vacant_ports(functions, placed):
        place = vacant(port, printed)
        placed[place.id] = place
    return Contribution(
        controllers=tuple(controllers),
        places=tuple(placed.values()),
        parts=tuple(parts.values()),
        devices=tuple(_device(f, owner[f.address], seen) for f in functions.values()),
        gaps=tuple(gaps),
    )


def _part(host: Host, function: PciFunction, kind: str, place: Place, seen: Seen) -> Part:
    identified_by = _identity(host, function, kind)
    nvme = _nvme_folder(host, function)
    model = hosts.text(host, f"{nvme}/model") if nvme else None
    return Part(
        id=part_id(kind, identified_by, place.id),
        kind=kind,
        name=model or name(function, seen.names),
        place=place.id,
        identity=identified_by,
        vendor=seen.names.pci_vendor(function.vendor),
        model=model or seen.names.pci_device(function.vendor, function.device),
        serial=hosts.text(host, f"{nvme}/serial") if nvme else None,
        firmware=hosts.text(host, f"{nvme}/firmware_rev") if nvme else None,
        soldered=place.slot_implemented is False,
        answers=function.answers,
        pci=function.address,
        pci_id=f"{function.vendor:04x}:{function.device:04x}",
        nvme=nvme.rpartition("/")[2] if nvme else None,
    )


def _nvme_folder(host: Host, function: PciFunction) -> str | None:
    names = [n for n in host.names(f"{function.path}/nvme") if re.fullmatch(r"nvme\d+", n)]
    return f"{function.path}/nvme/{names[0]}" if names else None


def _identity(host: Host, function: PciFunction, kind: str) -> str | None:
    """What tells this part from another of its model.

    A drive's serial number; a card's burnt-in MAC address, which is there once a
    driver has taken the card; else the PCI Express serial number, where it has one.
    """
    nvme = _nvme_folder(host, function)
    if nvme:
        serials = [hosts.text(host, f"{drive.path}/serial") for drive in host.udev("nvme")]
        own = hosts.text(host, f"{nvme}/serial")
        # A number that two drives of one machine claim identifies neither.
        return identity("serial", own) if serials.count(own) < 2 else None
    if kind in ("wireless-card", "network-adapter"):
        drawn = _drawn(host, function)
        for phy in host.names(f"{function.path}/ieee80211"):
            address = hosts.text(host, f"{function.path}/ieee80211/{phy}/macaddress")
            found = identity("mac", address) if address not in drawn else None
            if found:
                return found
        for name in host.names(f"{function.path}/net"):
            folder = f"{function.path}/net/{name}"
            # 0: the address is the hardware's own (Documentation/ABI/testing/sysfs-class-net).
            if hosts.number(host, f"{folder}/addr_assign_type") in (0, None):
                found = identity("mac", hosts.text(host, f"{folder}/address"))
                if found:
                    return found
    serial = function.config.serial_number if function.config else None
    return identity("serial", serial)


def _drawn(host: Host, function: PciFunction) -> set[str | None]:
    """Addresses that the driver draws anew at each start, as the card holds none (1: random)."""
    folders = [f"{function.path}/net/{name}" for name in host.names(f"{function.path}/net")]
    return {hosts.text(host, f"{folder}/address") for folder in folders
            if hosts.number(host, f"{folder}/addr_assign_type") == 1}  # fmt: skip


def _controller(function: PciFunction, seen: Seen) -> Controller:
    return Controller(
        id=f"pci:{function.address}",
        kind=_controller_kind(function),
        name=name(function, seen.names),
        parent=f"pci:{function.above}" if function.above else None,
        attributes=known(
            {
                "pci": function.address,
                "pci_id": f"{function.vendor:04x}:{function.device:04x}",
                "vendor": seen.names.pci_vendor(function.vendor),
                "model": seen.names.pci_device(function.vendor, function.device),
                "port_type": function.config.port_type if function.config else None,
                "answers": function.answers,
            }
        ),
    )


def _controller_kind(function: PciFunction) -> str:
    sub = function.class_code >> 8
    if is_port(function) and (
        function.config is None or function.config.port_type != config_space.DOWNSTREAM
    ):
        return "pcie-root-port"
    by_class = KINDS.get(sub) or CLASS_KINDS.get(sub >> 8)
    return by_class or DRIVER_KINDS.get(function.driver or "") or "other-controller"


def _device(function: PciFunction, component: str, seen: Seen) -> Device:
    config = function.config
    more: dict[str, Value] = {
        "class": f"{function.class_code:06x}",
        "pci_id": f"{function.vendor:04x}:{function.device:04x}",
        "port_type": config.port_type if config else None,
    }
    return device_of(
        function.listed, component, name(function, seen.names), facts_of(function), more
    )
