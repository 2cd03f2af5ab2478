"""USB sockets and connectors: the ports that have something in them or are wired.

A port says whether it can be reached from outside: ``connect_type`` hotplug,
hardwired, "not used" or unknown (Documentation/ABI/testing/sysfs-bus-usb).
"""

from __future__ import annotations

import msgspec

from livecheck.inventory.tree import Seen, known
from livecheck.inventory.usb_device import UsbDevice, UsbPort, bus_order, hub_above
from livecheck.records import Place, Presence


class UsbTree(msgspec.Struct, frozen=True, kw_only=True):
    """All of USB as it was read, and which hubs are whose."""

    ports: dict[str, UsbPort]
    devices: dict[str, UsbDevice]
    hubs: frozenset[str]
    """Ids of the board's hubs."""
    outside: frozenset[str]
    """Names of the hubs that were plugged in."""

    def is_board_hub(self, device: UsbDevice) -> bool:
        """Whether a device is one of the board's hubs."""
        return f"usbhub:{device.port}" in self.hubs


def places(tree: UsbTree, seen: Seen) -> tuple[Place, ...]:
    """A place for each port that has something in it or that firmware says is wired."""
    taken = {d.port for d in tree.devices.values() if d.port and not tree.is_board_hub(d)}
    wired = {
        p.place
        for p in tree.ports.values()
        if p.connect in ("hotplug", "hardwired") and p.hub not in tree.outside
    }
    board = {d.port for d in tree.devices.values() if tree.is_board_hub(d)}
    return tuple(
        _place(name, tree, seen) for name in sorted((taken | wired) - board, key=bus_order)
    )


def _place(name: str, tree: UsbTree, seen: Seen) -> Place:
    port = tree.ports.get(name)
    fitted = next((d for d in tree.devices.values() if d.port == name), None)
    behind = any(name.startswith(f"{hub}.") for hub in tree.outside)
    external = (port is not None and port.connect == "hotplug") or behind
    if fitted is not None:
        external = external or fitted.plugged
    halves = [p for p in tree.ports.values() if p.place == name]
    side = next((p.where for p in halves if p.where), None)
    hint = side if external or fitted is None else "inside"
    return Place(
        id=f"usb:{name}",
        kind="usb-port",
        name=f"USB port {name} ({hint})" if hint else f"USB port {name}",
        controller=_controller(name, tree, seen),
        presence=Presence.SEEN if fitted is not None else Presence.UNKNOWN,
        external=external,
        over_current_count=_over_currents(halves),
        port_max_mbps=_port_max(halves),
        attributes=known({"connect_type": port.connect if port else None, "where": side}),
    )


def _controller(name: str, tree: UsbTree, seen: Seen) -> str | None:
    """The hub a port is at, where it is the board's; else what serves that hub."""
    above = tree.devices.get(hub_above(name))
    if above is None:
        return None
    if tree.is_board_hub(above):
        return f"usbhub:{above.port}"
    return seen.controller_of(seen.owner(above.path))


def _over_currents(halves: list[UsbPort]) -> int | None:
    counts = [p.over_current for p in halves if p.over_current is not None]
    return sum(counts) if counts else None


def _port_max(halves: list[UsbPort]) -> float | None:
    """Mb/s of the socket's faster half; None unless firmware says which halves belong together."""
    speeds = [p.hub_mbps for p in halves if p.located and p.hub_mbps is not None]
    return max(speeds) if speeds and all(p.located for p in halves) else None
