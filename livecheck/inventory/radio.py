"""Network interfaces, wireless radios, Bluetooth and the switches that silence them."""

from __future__ import annotations

import re

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory.tree import Contribution, Seen, device_of, identity, known, part_id
from livecheck.records import Controller, Device, NetFacts, Part, Place, Presence, Value


def find(host: Host, seen: Seen) -> Contribution:
    """Radios and interfaces as devices of the card, adapter or controller they are on."""
    seen.add(_on_no_bus(host, seen))
    devices = [_net(host, d, seen) for d in host.udev("net")]
    devices += [_radio(host, d, seen) for d in host.udev("ieee80211")]
    # Connections of the radio (hci0:12) are no devices of the machine.
    adapters = [d for d in host.udev("bluetooth") if re.fullmatch(r"hci\d+", d.name)]
    devices += [_bluetooth(host, d, seen) for d in adapters]
    devices += [_switch(host, d, seen) for d in host.udev("rfkill")]
    parts, controllers = _named_on_components(devices, seen)
    return Contribution(parts=parts, controllers=controllers, devices=tuple(devices))


def _on_no_bus(host: Host, seen: Seen) -> Contribution:
    """Radios of the board itself, and simulated ones: no function on a bus carries them."""
    places, parts, devices = [], [], []
    for listed in host.udev("ieee80211"):
        if seen.owner(listed.path) is not None:
            continue
        place = Place(
            id=f"internal:{listed.name}",
            kind="internal-connector",
            name=f"radio {listed.name} of the board",
            presence=Presence.SEEN,
            expects="wireless-card",
        )
        address = hosts.text(host, f"{listed.path}/macaddress")
        identified_by = identity("mac", address)
        part = Part(
            id=part_id("wireless-card", identified_by, place.id),
            kind="wireless-card",
            name=f"radio {listed.name}",
            place=place.id,
            identity=identified_by,
            soldered=True,
        )
        places.append(place)
        parts.append(part)
        # Interface and switch lie beside the radio, under the device that carries it.
        above = listed.path.partition("/ieee80211/")[0]
        devices.append(
            Device(subsystem="platform", name=above.rpartition("/")[2], path=above,
                   component=part.id, description="device that carries a radio")
        )  # fmt: skip
    return Contribution(places=tuple(places), parts=tuple(parts), devices=tuple(devices))


def _net(host: Host, listed: UdevDevice, seen: Seen) -> Device:
    folder = listed.path
    wireless = bool(host.names(f"{folder}/wireless") or host.names(f"{folder}/phy80211"))
    virtual = "/devices/virtual/" in folder
    values: dict[str, Value] = {
        "address": hosts.text(host, f"{folder}/address"),
        # 0: burnt in (Documentation/ABI/testing/sysfs-class-net).
        "burnt_in": {0: True, None: None}.get(
            hosts.number(host, f"{folder}/addr_assign_type"), False
        ),
        "state": hosts.text(host, f"{folder}/operstate"),
    }
    facts = NetFacts(wireless=wireless, virtual=virtual)
    description = "virtual interface" if virtual else ("wireless" if wireless else "wired")
    return device_of(listed, seen.owner(folder), description, facts, values)


def _radio(host: Host, listed: UdevDevice, seen: Seen) -> Device:
    address = hosts.text(host, f"{listed.path}/macaddress")
    return device_of(listed, seen.owner(listed.path), "wireless radio", None, {"address": address})


def _bluetooth(host: Host, listed: UdevDevice, seen: Seen) -> Device:
    address = hosts.text(host, f"{listed.path}/address")
    return device_of(listed, seen.owner(listed.path), "Bluetooth radio", None, {"address": address})


def _switch(host: Host, listed: UdevDevice, seen: Seen) -> Device:
    """A radio switch; one of the platform's silences cards it does not hang on."""
    values: dict[str, Value] = {
        "type": hosts.text(host, f"{listed.path}/type"),
        "switch": hosts.text(host, f"{listed.path}/name"),
        "soft_blocked": hosts.flag(host, f"{listed.path}/soft"),
        "hard_blocked": hosts.flag(host, f"{listed.path}/hard"),
    }
    return device_of(listed, seen.owner(listed.path), "radio switch", None, values)


def _named_on_components(
    devices: list[Device], seen: Seen
) -> tuple[tuple[Part, ...], tuple[Controller, ...]]:
    """The same cards and controllers again, with the names of what runs on them."""
    names: dict[str, dict[str, Value]] = {}
    for device in devices:
        if device.component is None or device.subsystem == "rfkill":
            continue
        said = names.setdefault(device.component, {})
        # A card may carry several; the first is enough to find it by.
        said.setdefault({"net": "interface", "ieee80211": "phy"}.get(device.subsystem, "bluetooth"),
                        device.name)  # fmt: skip
    parts, controllers = [], []
    for component, said in names.items():
        if component in seen.parts:
            p = seen.parts[component]
            parts.append(
                Part(id=p.id, kind=p.kind, name=p.name, place=p.place, attributes=known(said))
            )
        elif component in seen.controllers:
            c = seen.controllers[component]
            controllers.append(
                Controller(id=c.id, kind=c.kind, name=c.name, attributes=known(said))
            )
    return tuple(parts), tuple(controllers)
