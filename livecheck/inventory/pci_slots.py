"""Card slots: the ports of PCI Express whose link ends in one."""

from __future__ import annotations

from livecheck import host as hosts
from livecheck.host import Host
from livecheck.inventory import config_space
from livecheck.inventory.pci_function import PciFunction, is_port, short_address
from livecheck.inventory.tree import known
from livecheck.records import Place, Presence


def slot_of(
    function: PciFunction, functions: dict[str, PciFunction], printed: dict[str, str]
) -> Place:
    """The slot a part is in: that of the port above it, else its own on the root bus."""
    port = functions.get(function.above or "")
    if port is None:
        return Place(
            id=f"slot:{function.address}",
            kind="pcie-slot",
            name=f"slot of the chipset's function {short_address(function.address)}",
            presence=Presence.SEEN,
        )
    presence = Presence.NOTHING_ANSWERS if function.answers is False else Presence.SEEN
    return _place(port, presence, function.config, printed)


def _place(
    port: PciFunction,
    presence: Presence,
    part: config_space.Function | None,
    printed: dict[str, str],
) -> Place:
    config = port.config
    link = config.link if config else None
    far = part.link if part else None
    slot = config.slot if config else None
    bus = config.secondary_bus if config else None
    label = printed.get(f"{port.address.split(':')[0]}:{bus:02x}" if bus is not None else "")
    return Place(
        id=f"slot:{port.address}",
        kind="pcie-slot",
        name=f"PCIe slot {label} (port {short_address(port.address)})"
        if label
        else f"PCIe slot at port {short_address(port.address)}",
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


def vacant_ports(functions: dict[str, PciFunction], placed: dict[str, Place]) -> list[PciFunction]:
    """Ports with nothing behind them whose link ends in a slot, as far as is known."""
    taken = {f.above for f in functions.values()}
    return [
        f
        for f in functions.values()
        if is_port(f)
        and f.address not in taken
        and f"slot:{f.address}" not in placed
        and not (f.config and f.config.slot_implemented is False)
    ]


def vacant(port: PciFunction, printed: dict[str, str]) -> Place:
    """The slot at a port with nothing behind it."""
    slot = port.config.slot if port.config else None
    if slot is None:
        presence = Presence.UNKNOWN
    else:
        presence = Presence.NOTHING_ANSWERS if slot.presence else Presence.EMPTY
    return _place(port, presence, None, printed)


def slot_names(host: Host) -> dict[str, str]:
    """Bus (``0000:02``) -> the name the firmware gives its slot."""
    folder = "/sys/bus/pci/slots"
    addresses = {n: hosts.text(host, f"{folder}/{n}/address") for n in host.names(folder)}
    return {a.rpartition(":")[0]: n for n, a in addresses.items() if a and a.count(":") == 2}
