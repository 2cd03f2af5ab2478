"""PCI functions: what is on the board, what sits in a slot, and the link between.

On a laptop's board all bridges and nearly all functions are soldered; what is
swapped sits in a slot behind a root port: a drive or a wireless card (and, in a
desktop case, any card). A wireless card may also show up as a function of the
chipset itself, with only its radio half in the slot; it is a part all the same.
That is common practice, no source.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice, Unreadable
from livecheck.inventory import config_space, slots, smbios
from livecheck.inventory.ids import Names
from livecheck.inventory.tree import (
    Contribution,
    Seen,
    device_of,
    identity,
    known,
    part_id,
)
from livecheck.records import Controller, Device, Part, PciFacts, Place, Presence, Record, Value

ADDRESS: Final = re.compile(r"[0-9a-f]{4,5}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]$")

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

BENCH_CASES: Final = frozenset({3, 4, 5, 6, 7, 15, 16, 17, 23, 24})
"""SMBIOS chassis types with slots for cards: desktop, tower and server shapes (DSP0134 7.4.1)."""


class PciFunction(Record, frozen=True, kw_only=True):
    """One function of the kernel's PCI tree."""

    address: str
    path: str
    class_code: int
    vendor: int
    device: int
    driver: str | None
    config: config_space.Function | None
    whole: bool
    """True: more than the first 64 bytes of it could be read."""
    answers: bool | None
    """False: its configuration space reads all ones; None: it could not be read."""
    wireless: bool
    above: str | None
    """Address of the bridge it is behind; None on a root bus."""
    listed: UdevDevice


class Signs(Record, frozen=True, kw_only=True):
    """What of the machine tells a card from a chip of the board, beside the functions."""

    names: Names
    bench_case: bool
    radio_slots: frozenset[str]
    """PCI addresses that the firmware gives slots made for wireless cards."""


def find(host: Host, seen: Seen) -> Contribution:
    """Controllers, slots, and the parts in the slots."""
    functions = {f.address: f for f in (_function(host, d) for d in host.udev("pci")) if f}
    gaps = []
    if functions and not any(f.whole for f in functions.values()):
        gaps.append(
            "Configuration space of PCI functions was readable only in part: links, slot "
            "presence and error bits are not known. Run as root."
        )
    signs = Signs(
        names=seen.names,
        bench_case=hosts.number(host, "/sys/class/dmi/id/chassis_type") in BENCH_CASES,
        radio_slots=slots.radio_slots(smbios.tables(host)),
    )
    slot_names = _slot_names(host)
    placed: dict[str, Place] = {}
    parts: dict[str, Part] = {}
    controllers: list[Controller] = []
    owner: dict[str, str] = {}
    for function in sorted(functions.values(), key=lambda f: f.path):
        kind = _part_kind(function, signs)
        fitted = _main_function(function, functions, signs)
        if fitted is None:
            controller = _controller(function, seen)
            controllers.append(controller)
            owner[function.address] = controller.id
        elif kind is not None and fitted is function:
            place = _slot_of(function, functions, slot_names)
            part = _part(host, function, kind, place, seen)
            placed[place.id], parts[part.id] = place, part
            owner[function.address] = part.id
    for function in functions.values():
        if function.address not in owner:
            main = _main_function(function, functions, signs)
            owner[function.address] = owner[main.address if main else function.address]
    for port in _vacant_ports(functions, placed):
        place = _vacant(port, functions, slot_names)
        placed[place.id] = place
    return Contribution(
        controllers=tuple(controllers),
        places=tuple(placed.values()),
        parts=tuple(parts.values()),
        devices=tuple(_device(f, owner[f.address], seen) for f in functions.values()),
        gaps=tuple(gaps),
    )


def _function(host: Host, listed: UdevDevice) -> PciFunction | None:
    if not ADDRESS.match(listed.name):
        return None
    try:
        raw: bytes | None = host.read(f"{listed.path}/config")
    except Unreadable:
        raw = None
    parent = listed.path.rpartition("/")[0].rpartition("/")[2]
    below = [*host.names(f"{listed.path}/ieee80211"), *host.names(f"{listed.path}/bluetooth")]
    answers = None if not raw else raw[:4] != b"\xff\xff\xff\xff"
    return PciFunction(
        address=listed.name,
        path=listed.path,
        class_code=hosts.number(host, f"{listed.path}/class", 16) or 0,
        vendor=hosts.number(host, f"{listed.path}/vendor", 16) or 0,
        device=hosts.number(host, f"{listed.path}/device", 16) or 0,
        driver=listed.driver,
        config=config_space.decode(raw) if raw else None,
        whole=raw is not None and len(raw) > 64,
        answers=answers,
        wireless=bool(below),
        above=parent if ADDRESS.match(parent) else None,
        listed=listed,
    )


# --- What is a part


def _part_kind(function: PciFunction, signs: Signs) -> str | None:
    """Kind of the part this function makes, or None for one that belongs to the board."""
    base, sub = function.class_code >> 16, function.class_code >> 8
    if sub == 0x0108:
        return "drive"
    if sub == 0x0280 or base == 0x0D or function.wireless:
        return slots.WIRELESS
    if base == 0x02 and (_called_wireless(function, signs) or _in_radio_slot(function, signs)):
        return slots.WIRELESS
    if base == 0x06 or not signs.bench_case or function.above is None:
        return None
    return "network-adapter" if base == 0x02 else "expansion-card"


def _called_wireless(function: PciFunction, signs: Signs) -> bool:
    name = signs.names.pci_device(function.vendor, function.device) or ""
    return bool(re.search(r"wireless|wi-?fi|802\.11", name, re.IGNORECASE))


def _in_radio_slot(function: PciFunction, signs: Signs) -> bool:
    """Whether the firmware's slot table means this function, or the port above it."""
    return not signs.radio_slots.isdisjoint({function.address, function.above})


def _main_function(
    function: PciFunction, functions: dict[str, PciFunction], signs: Signs
) -> PciFunction | None:
    """The function that makes the part this one is on; None when it is on the board.

    All functions of one device behind a port sit on the same card. On a root bus
    each function stands for itself.
    """
    if function.above is None:
        return function if _part_kind(function, signs) else None
    device = function.address.rpartition(".")[0]
    for number in range(8):
        other = functions.get(f"{device}.{number}")
        if other is not None and _part_kind(other, signs):
            return other
    return None


def _part(host: Host, function: PciFunction, kind: str, place: Place, seen: Seen) -> Part:
    identified_by = _identity(host, function, kind)
    nvme = _nvme_folder(host, function)
    model = hosts.text(host, f"{nvme}/model") if nvme else None
    name = model or _name(function, seen)
    return Part(
        id=part_id(kind, identified_by, place.id),
        kind=kind,
        name=name,
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
        return identity("serial", hosts.text(host, f"{nvme}/serial"))
    if kind in ("wireless-card", "network-adapter"):
        for phy in host.names(f"{function.path}/ieee80211"):
            found = identity("mac", hosts.text(host, f"{function.path}/ieee80211/{phy}/macaddress"))
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


# --- Places


def _slot_of(
    function: PciFunction, functions: dict[str, PciFunction], slot_names: dict[str, str]
) -> Place:
    """The slot a part is in: that of the port above it, else its own on the root bus."""
    port = functions.get(function.above or "")
    if port is None:
        return Place(
            id=f"slot:{function.address}",
            kind="pcie-slot",
            name=f"slot of the chipset's function {_short(function.address)}",
            presence=Presence.SEEN,
        )
    presence = Presence.NOTHING_ANSWERS if function.answers is False else Presence.SEEN
    return _place(port, presence, function.config, slot_names)


def _place(
    port: PciFunction,
    presence: Presence,
    part: config_space.Function | None,
    slot_names: dict[str, str],
) -> Place:
    config = port.config
    link = config.link if config else None
    far = part.link if part else None
    slot = config.slot if config else None
    bus = config.secondary_bus if config else None
    printed = slot_names.get(f"{port.address.split(':')[0]}:{bus:02x}" if bus is not None else "")
    return Place(
        id=f"slot:{port.address}",
        kind="pcie-slot",
        name=f"PCIe slot {printed} (port {_short(port.address)})"
        if printed
        else f"PCIe slot at port {_short(port.address)}",
        controller=f"pci:{port.address}",
        presence=presence,
        secondary_bus=f"{port.address.split(':')[0]}:{bus:02x}" if bus else None,
        slot_implemented=config.slot_implemented if config else None,
        port_max_speed_gts=link.max_speed_gts if link else None,
        port_max_width=link.max_width if link else None,
        attributes=known(
            {
                "slot_number": slot.number if slot else None,
                "presence_detect": slot.presence if slot else None,
                "link_active": link.active if link else None,
                "link_speed_gts": link.speed_gts if link else None,
                "link_width": link.width if link else None,
                "part_max_speed_gts": far.max_speed_gts if far else None,
                "part_max_width": far.max_width if far else None,
            }
        ),
    )


def _vacant_ports(functions: dict[str, PciFunction], placed: dict[str, Place]) -> list[PciFunction]:
    """Ports with nothing behind them whose link ends in a slot, as far as is known."""
    taken = {f.above for f in functions.values()}
    return [
        f
        for f in functions.values()
        if _is_port(f)
        and f.address not in taken
        and f"slot:{f.address}" not in placed
        and not (f.config and f.config.slot_implemented is False)
    ]


def _vacant(
    port: PciFunction, functions: dict[str, PciFunction], slot_names: dict[str, str]
) -> Place:
    slot = port.config.slot if port.config else None
    if slot is None:
        presence = Presence.UNKNOWN
    else:
        presence = Presence.NOTHING_ANSWERS if slot.presence else Presence.EMPTY
    return _place(port, presence, None, slot_names)


def _is_port(function: PciFunction) -> bool:
    if function.class_code >> 8 != 0x0604:
        return False
    port_type = function.config.port_type if function.config else None
    if port_type is None:
        # Capabilities are hidden from an ordinary user: only a port carries pcie services.
        return function.driver == "pcieport"
    return port_type in (config_space.ROOT_PORT, config_space.DOWNSTREAM)


def _slot_names(host: Host) -> dict[str, str]:
    """Bus (``0000:02``) -> the name the firmware gives its slot."""
    folder = "/sys/bus/pci/slots"
    addresses = {n: hosts.text(host, f"{folder}/{n}/address") for n in host.names(folder)}
    return {a.rpartition(":")[0]: n for n, a in addresses.items() if a and a.count(":") == 2}


# --- Controllers and devices


def _controller(function: PciFunction, seen: Seen) -> Controller:
    return Controller(
        id=f"pci:{function.address}",
        kind=_controller_kind(function),
        name=_name(function, seen),
        parent=f"pci:{function.above}" if function.above else None,
        attributes=known(
            {
                "pci": function.address,
                "pci_id": f"{function.vendor:04x}:{function.device:04x}",
                "vendor": seen.names.pci_vendor(function.vendor),
                "port_type": function.config.port_type if function.config else None,
                "answers": function.answers,
            }
        ),
    )


def _controller_kind(function: PciFunction) -> str:
    sub = function.class_code >> 8
    if _is_port(function) and (
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
    return device_of(function.listed, component, _name(function, seen), facts_of(function), more)


def facts_of(function: PciFunction) -> PciFacts:
    """What configuration space says; status registers as numbers."""
    config = function.config
    link = config.link if config else None
    errors = config.errors if config else None
    return PciFacts(
        above=function.above,
        answers=function.answers,
        link_speed_gts=link.speed_gts if link else None,
        link_width=link.width if link else None,
        link_max_speed_gts=link.max_speed_gts if link else None,
        link_max_width=link.max_width if link else None,
        device_status=config.device_status if config else None,
        aer_correctable=errors.correctable if errors else None,
        aer_uncorrectable=errors.uncorrectable if errors else None,
    )


def _name(function: PciFunction, seen: Seen) -> str:
    names = seen.names
    properties = function.listed.properties
    by_database = names.pci_device(function.vendor, function.device)
    by_class = names.pci_class(function.class_code >> 8)
    plain = f"PCI function {function.vendor:04x}:{function.device:04x}"
    return by_database or properties.get("ID_MODEL_FROM_DATABASE") or by_class or plain


def _short(address: str) -> str:
    """An address without the segment when that is the only usual one."""
    return address.removeprefix("0000:")
