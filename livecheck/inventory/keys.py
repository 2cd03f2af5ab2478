"""Keyboards, pads, pointing sticks and touchscreens."""

from __future__ import annotations

import re

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory.tree import Contribution, Seen, device_of
from livecheck.records import InputFacts, Part, Place, Presence


def find(host: Host, seen: Seen) -> Contribution:
    """Input devices; a keyboard or pad that hangs on no bus of parts is the machine's own."""
    places: dict[str, Place] = {}
    parts, devices = [], []
    inputs = [d for d in host.udev("input") if re.fullmatch(r"input\d+", d.name)]
    has_pad = any(_kind(d) == "touchpad" for d in inputs)
    for listed in inputs:
        name = hosts.text(host, f"{listed.path}/name")
        owner = seen.owner(listed.path)
        kind = _inside_kind(listed, has_pad)
        if kind is not None and not _on_a_part(owner, seen):
            place = Place(
                id=f"internal:{kind}",
                kind="internal-connector",
                name=f"{kind} connector",
                controller=seen.controller_of(owner),
                presence=Presence.SEEN,
                expects=kind,
            )
            if place.id not in places:
                places[place.id] = place
                parts.append(Part(id=f"{kind}@{place.id}", kind=kind, name=name or kind,
                                  place=place.id))  # fmt: skip
            owner = f"{kind}@{place.id}"
        elif _kind(listed) == "touchscreen" and not _on_a_part(owner, seen):
            # It is glued to the panel, whatever bus its lead ends at.
            owner = next((p.id for p in seen.parts.values() if p.kind == "panel"), owner)
        facts = InputFacts(kind=_kind(listed), inside=kind is not None)
        devices.append(device_of(listed, owner, name, facts))
    return Contribution(places=tuple(places.values()), parts=tuple(parts), devices=tuple(devices))


def _on_a_part(owner: str | None, seen: Seen) -> bool:
    return owner in seen.parts or owner in seen.places


def _inside_kind(listed: UdevDevice, has_pad: bool) -> str | None:
    """By udev's own judgement (its input_id rules), and the bus inside laptops.

    A mouse on the keyboard controller is a pad that no driver knows better; beside a pad
    it is nothing, or the stick's own line, which udev's hardware database names
    (common practice, no source).
    """
    inside = re.search(r"/(serio\d+|i2c-\d+)/", listed.path)
    if not inside:
        return None
    if listed.properties.get("ID_INPUT_TOUCHPAD") == "1":
        return "touchpad"
    if listed.properties.get("ID_INPUT_POINTINGSTICK") == "1":
        return "pointing-stick"
    if _kind(listed) == "mouse" and inside[1].startswith("serio") and not has_pad:
        return "touchpad"
    return "keyboard" if listed.properties.get("ID_INPUT_KEYBOARD") == "1" else None


def _kind(listed: UdevDevice) -> str | None:
    """What an input device is, by udev's input_id."""
    for kind in ("touchpad", "touchscreen", "keyboard", "mouse"):
        if listed.properties.get(f"ID_INPUT_{kind.upper()}") == "1":
            return kind
    return None
