"""The panel's light: what sets it, and the inverter that feeds the lamp of an old panel."""

from __future__ import annotations

from typing import Final

from livecheck import host as hosts
from livecheck.host import Host
from livecheck.inventory.tree import Contribution, Seen, device_of
from livecheck.records import BacklightFacts, Part, Place, Presence

LAST_LAMP_YEAR: Final = 2009
"""Assumed; common practice, no source: panels made later than this are lit by diodes."""


def find(host: Host, seen: Seen) -> Contribution:
    """Every backlight at the panel it lights, and the inverter where the panel has a lamp."""
    panels = [p for p in seen.parts.values() if p.kind == "panel"]
    devices = []
    for listed in host.udev("backlight"):
        owner = seen.owner(listed.path)
        if owner not in {p.id for p in panels} and len(panels) == 1:
            # The firmware's own hangs on the graphics function, a platform driver's on nothing.
            owner = panels[0].id
        devices.append(device_of(listed, owner, "backlight", _facts(host, listed.path)))
    return Contribution(
        places=tuple(_inverter(panel, seen) for panel in panels if _has_lamp(panel)),
        devices=tuple(devices),
    )


def _facts(host: Host, path: str) -> BacklightFacts:
    # 0 is on, whatever else is off (Linux, include/linux/backlight.h: BACKLIGHT_POWER_ON).
    power = hosts.number(host, f"{path}/bl_power")
    return BacklightFacts(
        type=hosts.text(host, f"{path}/type"),
        level=hosts.number(host, f"{path}/brightness"),
        max_level=hosts.number(host, f"{path}/max_brightness"),
        off=None if power is None else power != 0,
    )


def _has_lamp(panel: Part) -> bool:
    """Whether a panel is old enough for a lamp; one that tells no year is not taken for one."""
    year = panel.screen.year if panel.screen is not None else None
    return panel.place.startswith("panel:LVDS") and year is not None and year <= LAST_LAMP_YEAR


def _inverter(panel: Part, seen: Seen) -> Place:
    return Place(
        id=f"inverter:{panel.place.partition(':')[2]}",
        kind="backlight-inverter",
        name="backlight inverter",
        controller=seen.places[panel.place].controller,
        presence=Presence.UNKNOWN,
    )
