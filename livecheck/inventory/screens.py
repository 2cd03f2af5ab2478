"""Screens: display connectors, what their EDID says, and the panel inside."""

from __future__ import annotations

import re
from typing import Final

import msgspec

from livecheck import host as hosts
from livecheck.host import Host, Unreadable
from livecheck.inventory import tree
from livecheck.inventory.edid import Edid, parse
from livecheck.inventory.tree import Contribution, Seen, device_of, part_id
from livecheck.records import Device, Part, Place, Presence, ScreenFacts

BUILT_IN: Final = re.compile(r"^(eDP|LVDS|DSI|DPI)-")
"""Connector types that lead to a panel inside the machine (drm_connector.c)."""


def find(host: Host, seen: Seen) -> Contribution:
    """Display connectors; a panel is a part of the connector it hangs on."""
    places, parts, devices = [], [], []
    for listed in host.udev("drm"):
        connector = re.sub(r"^card\d+-", "", listed.name)
        if connector == listed.name:
            continue
        status = hosts.text(host, f"{listed.path}/status")
        enabled = hosts.text(host, f"{listed.path}/enabled")
        edid = _edid(host, listed.path)
        component = seen.owner(listed.path)
        if BUILT_IN.match(connector):
            place = _panel_place(connector, status, seen.controller_of(component))
            places.append(place)
            if place.presence is Presence.SEEN:
                part = _panel(place, edid, seen)
                parts.append(part)
                component = part.id
        facts = msgspec.structs.replace(_facts(edid, status), bus=_bus(host, listed.path))
        name = _called(connector, facts)
        devices.append(device_of(listed, component, name, facts, {"enabled": enabled}))
    devices += _aux(host, {d.path: d.component for d in devices})
    return Contribution(places=tuple(places), parts=tuple(parts), devices=tuple(devices))


def _called(connector: str, facts: ScreenFacts) -> str:
    """The connector, with the screen at it where that is one from outside."""
    name = f"display connector {connector}"
    if BUILT_IN.match(connector) or facts.status != "connected":
        return name
    return " ".join(w for w in ("external screen", facts.maker, facts.monitor, "at", name) if w)


def _bus(host: Host, folder: str) -> str | None:
    """The I2C bus that the screen's EDID is read over: linked, or under the connector."""
    linked = host.target(f"{folder}/ddc")
    found = [linked.rpartition("/")[2]] if linked else list(host.names(folder))
    return next((name for name in found if re.fullmatch(r"i2c-\d+", name)), None)


def _aux(host: Host, owners: dict[str, str | None]) -> list[Device]:
    """The DisplayPort channels that a screen's registers are read through.

    Drivers hang them on the connector (Linux, drm_dp_aux_register: ``aux->dev``).
    """
    found = []
    for listed in host.udev("drm_dp_aux_dev"):
        if listed.parent in owners:
            inside = BUILT_IN.match(re.sub(r".*/card\d+-", "", listed.parent))
            whose = "the panel" if inside else "a display connector"
            found.append(device_of(listed, owners[listed.parent], f"AUX channel of {whose}"))
    return found


def _edid(host: Host, folder: str) -> Edid | None:
    """The connector's EDID; None when the file is empty: no screen, or one that is silent."""
    try:
        raw = host.read(f"{folder}/edid")
    except Unreadable:
        return None
    return parse(raw) if raw else None


def _panel_place(connector: str, status: str | None, controller: str | None) -> Place:
    presence = {"connected": Presence.SEEN, "disconnected": Presence.EMPTY}
    return Place(
        id=f"panel:{connector}",
        kind="panel-connector",
        name=f"panel connector {connector}",
        controller=controller,
        presence=presence.get(status or "", Presence.UNKNOWN),
        expects="panel",
    )


def _panel(place: Place, edid: Edid | None, seen: Seen) -> Part:
    edid = edid or Edid()
    model = edid.name or (edid.texts[-1] if edid.texts else None)
    # A serial number of a panel counts within its model only, and most panels have none.
    serial = edid.serial or (f"{edid.serial_number:08X}" if edid.serial_number else None)
    known_serial = tree.identity("serial", serial) if serial else None
    identified_by = (
        f"serial:{edid.maker}{edid.product:04X} {serial}"
        if known_serial and edid.maker and edid.product is not None
        else None
    )
    vendor = seen.names.pnp_vendor(edid.maker) if edid.maker else None
    return Part(
        id=part_id("panel", identified_by, place.id),
        kind="panel",
        name=" ".join(w for w in ("panel", vendor or edid.maker, model) if w),
        place=place.id,
        identity=identified_by,
        vendor=vendor or edid.maker,
        model=model,
        serial=serial,
        screen=_facts(edid, "connected"),
    )


def _facts(edid: Edid | None, status: str | None) -> ScreenFacts:
    if edid is None:
        return ScreenFacts(status=status)
    mode = edid.preferred
    return ScreenFacts(
        status=status,
        read=edid.blocks > 0,
        damage=edid.damage[0] if edid.damage and edid.blocks else None,
        monitor=edid.name,
        maker=edid.maker,
        product=edid.product,
        year=edid.year,
        width_px=mode.width if mode else None,
        height_px=mode.height if mode else None,
        refresh_hz=round(mode.refresh_hz, 2) if mode else None,
        width_mm=edid.width_mm,
        height_mm=edid.height_mm,
    )
