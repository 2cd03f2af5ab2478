"""Screens, sound, cameras, keys and pads, the lid, the TPM and the clock."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice, Unreadable
from livecheck.inventory import tree
from livecheck.inventory.edid import Edid, parse
from livecheck.inventory.tree import Contribution, Seen, device_of, known, part_id
from livecheck.records import Device, Part, Place, Presence, Value

BUILT_IN: Final = re.compile(r"^(eDP|LVDS|DSI|DPI)-")
"""Connector types that lead to a panel inside the machine (drm_connector.c)."""
CLOCK_CELL: Final = "internal:clock-battery"


def find(host: Host, seen: Seen) -> Contribution:
    """Everything that hangs on no bus of its own, or that no bus finder names."""
    found = Seen(seen.names)
    for finder in (_screens, _keys, _sound, _clock):
        found.add(finder(host, seen))
    plain: tuple[tuple[str, str, Callable[[Host, str], dict[str, Value]]], ...] = (
        ("tpm", r"tpm\d+", _tpm),
        ("iio", r"iio:device\d+", lambda h, p: {"sensor": hosts.text(h, f"{p}/name")}),
        ("backlight", r".+", _backlight),
    )
    for subsystem, names, values in plain:
        listed = [d for d in host.udev(subsystem) if re.fullmatch(names, d.name)]
        devices = [device_of(d, seen.owner(d.path), None, values(host, d.path)) for d in listed]
        found.add(Contribution(devices=tuple(devices)))
    found.add(Contribution(devices=_cameras(host, seen)))
    return Contribution(
        places=tuple(found.places.values()),
        parts=tuple(found.parts.values()),
        devices=(*found.devices.values(), *_lids(host)),
    )


def _tpm(host: Host, path: str) -> dict[str, Value]:
    return {"version": hosts.number(host, f"{path}/tpm_version_major")}


def _backlight(host: Host, path: str) -> dict[str, Value]:
    return {
        "brightness": hosts.number(host, f"{path}/brightness"),
        "max_brightness": hosts.number(host, f"{path}/max_brightness"),
        "power_off": hosts.number(host, f"{path}/bl_power") not in (0, None),
    }


def _cameras(host: Host, seen: Seen) -> tuple[Device, ...]:
    """Video nodes; of the several a camera has, those that give pictures are marked."""
    devices = []
    for listed in host.udev("video4linux"):
        if not re.fullmatch(r"video\d+", listed.name):
            continue
        # udev's v4l_id writes the capabilities; without it the driver's first node is meant.
        said = listed.properties.get("ID_V4L_CAPABILITIES")
        first = hosts.number(host, f"{listed.path}/index") == 0
        name = hosts.text(host, f"{listed.path}/name")
        captures = first if said is None else ":capture:" in said
        values: dict[str, Value] = {"camera": name, "captures": captures}
        devices.append(device_of(listed, seen.owner(listed.path), name, values))
    return tuple(devices)


def _lids(host: Host) -> tuple[Device, ...]:
    """Lid switches of ACPI; the kernel tells their state in procfs alone."""
    folder = "/proc/acpi/button/lid"
    return tuple(
        Device(
            subsystem="lid",
            name=name,
            path=f"{folder}/{name}",
            attributes=known({"open": _lid_open(hosts.text(host, f"{folder}/{name}/state"))}),
        )
        for name in host.names(folder)
    )


def _lid_open(state: str | None) -> bool | None:
    word = (state or "").rpartition(":")[2].strip()
    return {"open": True, "closed": False}.get(word)


# --- Screens


def _screens(host: Host, seen: Seen) -> Contribution:
    places, parts, devices = [], [], []
    for listed in host.udev("drm"):
        connector = re.sub(r"^card\d+-", "", listed.name)
        if connector == listed.name:
            continue
        status = hosts.text(host, f"{listed.path}/status")
        edid = _edid(host, listed.path)
        component = seen.owner(listed.path)
        if BUILT_IN.match(connector):
            place = _panel_place(connector, status, seen.controller_of(component))
            places.append(place)
            if place.presence is Presence.SEEN:
                part = _panel(place, edid, seen)
                parts.append(part)
                component = part.id
        values: dict[str, Value] = {"status": status, **_screen_values(edid)}
        devices.append(device_of(listed, component, f"display connector {connector}", values))
    return Contribution(places=tuple(places), parts=tuple(parts), devices=tuple(devices))


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
        attributes={"expects": "panel"},
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
        attributes=known(_screen_values(edid)),
    )


def _screen_values(edid: Edid | None) -> dict[str, Value]:
    if edid is None:
        return {"edid_read": False}
    mode = edid.preferred
    return {
        "edid_read": edid.blocks > 0,
        "edid_damage": edid.damage[0] if edid.damage and edid.blocks else None,
        "monitor": edid.name,
        "maker": edid.maker,
        "product": edid.product,
        "year": edid.year,
        "width_px": mode.width if mode else None,
        "height_px": mode.height if mode else None,
        "refresh_hz": round(mode.refresh_hz, 2) if mode else None,
        "width_mm": edid.width_mm,
        "height_mm": edid.height_mm,
    }


# --- Keys and pads


def _keys(host: Host, seen: Seen) -> Contribution:
    """Input devices; a keyboard or pad that hangs on no bus of parts is the machine's own."""
    places: dict[str, Place] = {}
    parts, devices = [], []
    inputs = [d for d in host.udev("input") if re.fullmatch(r"input\d+", d.name)]
    has_pad = any(_sort(d) == "touchpad" for d in inputs)
    for listed in inputs:
        name = hosts.text(host, f"{listed.path}/name")
        owner = seen.owner(listed.path)
        kind = _key_kind(listed, has_pad)
        if kind is not None and not _on_a_part(owner, seen):
            place = Place(
                id=f"internal:{kind}",
                kind="internal-connector",
                name=f"{kind} connector",
                controller=seen.controller_of(owner),
                presence=Presence.SEEN,
                attributes={"expects": kind},
            )
            if place.id not in places:
                places[place.id] = place
                parts.append(Part(id=f"{kind}@{place.id}", kind=kind, name=name or kind,
                                  place=place.id))  # fmt: skip
            owner = f"{kind}@{place.id}"
        values = known({"input": _sort(listed), "inside": True if kind is not None else None})
        devices.append(device_of(listed, owner, name, values))
    return Contribution(places=tuple(places.values()), parts=tuple(parts), devices=tuple(devices))


def _on_a_part(owner: str | None, seen: Seen) -> bool:
    return owner in seen.parts or owner in seen.places


def _key_kind(listed: UdevDevice, has_pad: bool) -> str | None:
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
    if _sort(listed) == "mouse" and inside[1].startswith("serio") and not has_pad:
        return "touchpad"
    return "keyboard" if listed.properties.get("ID_INPUT_KEYBOARD") == "1" else None


def _sort(listed: UdevDevice) -> str | None:
    """What an input device is, by udev's input_id."""
    for sort in ("touchpad", "touchscreen", "keyboard", "mouse"):
        if listed.properties.get(f"ID_INPUT_{sort.upper()}") == "1":
            return sort
    return None


# --- Sound


def _sound(host: Host, seen: Seen) -> Contribution:
    """Sound cards; speaker and microphone are the parts that hang on the machine's own."""
    listed = host.udev("sound")
    places: dict[str, Place] = {}
    parts: dict[str, Part] = {}
    devices = []
    for card in listed:
        number = re.fullmatch(r"card(\d+)", card.name)
        if not number:
            continue
        streams = [d.name for d in listed if re.fullmatch(rf"pcmC{number[1]}D\d+[pc]", d.name)]
        values: dict[str, Value] = {
            "id": hosts.text(host, f"{card.path}/id"),
            "playback": any(name.endswith("p") for name in streams),
            "capture": any(name.endswith("c") for name in streams),
        }
        owner = seen.owner(card.path)
        devices.append(device_of(card, owner, None, values))
        if "/usb" in card.path:
            continue
        for kind, has in (("speaker", values["playback"]), ("microphone", values["capture"])):
            # The first card with such a stream leads to the built-in one; HDMI cards have no other.
            place = Place(id=f"internal:{kind}", kind="internal-connector",
                          name=f"{kind} connector", controller=seen.controller_of(owner),
                          attributes={"expects": kind})  # fmt: skip
            if has and place.id not in places and not _picture_sound(host, card, streams):
                places[place.id] = place
                parts[kind] = Part(id=f"{kind}@{place.id}", kind=kind, name=kind, place=place.id,
                                   attributes={"card": card.name})  # fmt: skip
    return Contribution(
        places=tuple(places.values()), parts=tuple(parts.values()), devices=tuple(devices)
    )


def _picture_sound(host: Host, card: UdevDevice, streams: list[str]) -> bool:
    """True for a card all of whose streams lead to screens, as procfs names them."""
    folders = [f"/proc/asound/{card.name}/pcm{n.rpartition('D')[2]}" for n in streams]
    said = [hosts.text(host, f"{folder}/info") or "" for folder in folders]
    return bool(said) and all("HDMI" in words for words in said)


# --- Clock


def _clock(host: Host, seen: Seen) -> Contribution:
    listed = host.udev("rtc")
    if not listed:
        return Contribution()
    place = Place(
        id=CLOCK_CELL,
        kind="internal-connector",
        name="clock battery holder",
        attributes={"expects": "coin-cell"},
    )
    # Some machines feed the clock from the main battery and have no cell at all.
    part = Part(
        id=f"coin-cell@{CLOCK_CELL}",
        kind="coin-cell",
        name="clock battery, where one is fitted",
        place=CLOCK_CELL,
    )
    devices = tuple(
        device_of(d, part.id, "clock", {"chip": hosts.text(host, f"{d.path}/name")}) for d in listed
    )
    return Contribution(places=(place,), parts=(part,), devices=devices)
