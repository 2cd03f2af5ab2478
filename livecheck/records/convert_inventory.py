"""Inventories of schema 1, whose parts, places and devices kept everything in untyped attributes.

Attributes that are fields today become fields; the others stay, since they are only shown.
It works on decoded JSON.
"""

from __future__ import annotations

import math
from typing import Any, Final

import msgspec

from livecheck.records.facts import (
    BacklightFacts,
    BlockFacts,
    CameraFacts,
    InputFacts,
    NetFacts,
    NvmeFacts,
    PciFacts,
    ScreenFacts,
    UsbFacts,
)

Fields = dict[str, Any]
"""A record as decoded JSON."""

_PART: Final = {
    **{name: name for name in ("answers", "bench_own", "block", "data_bits", "design_volts")},
    **{name: name for name in ("nvme", "pci", "pci_id", "scsi", "size_bytes", "total_bits")},
    "usb": "usb",
    "usb_id": "usb_id",
    "card": "sound_card",
}
_PLACE: Final = {
    **{name: name for name in ("ata", "expects", "form", "over_current_count", "port_max_gbps")},
    **{name: name for name in ("port_max_mbps", "port_max_speed_gts", "port_max_width")},
    **{name: name for name in ("printed_name", "secondary_bus", "slot_implemented")},
    "told_fitted": "told_fitted",
}
_SCREEN: Final = {name: name for name in ScreenFacts.__struct_fields__} | {
    "edid_read": "read",
    "edid_damage": "damage",
}
_BACKLIGHT: Final = {"brightness": "level", "max_brightness": "max_level", "power_off": "off"}
"""Attribute of schema 1 -> field of today."""

_FACTS: Final = {
    "pci": (PciFacts, {}),
    "usb": (UsbFacts, {}),
    "block": (BlockFacts, {}),
    "nvme": (NvmeFacts, {}),
    "net": (NetFacts, {}),
    "input": (InputFacts, {"input": "kind"}),
    "video4linux": (CameraFacts, {}),
    "drm": (ScreenFacts, _SCREEN),
    "backlight": (BacklightFacts, _BACKLIGHT),
}
"""Subsystem -> the facts it has today, and attributes of another name."""


def inventory(fields: Any) -> Fields:
    """An inventory of schema 1 with the fields of today.

    Raises msgspec.ValidationError for what schema 1 could not have written.
    """
    kinds = {"parts": _part, "places": _place, "devices": _device}
    kept = msgspec.convert(fields, Fields)
    return kept | {
        name: [change(one) for one in msgspec.convert(kept[name], list[Fields])]
        for name, change in kinds.items()
        if name in kept
    }


def _part(fields: Fields) -> Fields:
    lifted, rest = _apart(fields, _PART)
    if fields.get("kind") == "panel":
        screen, rest = _apart({"attributes": rest}, _SCREEN)
        lifted["screen"] = {"of": "screen", **screen}
    return {**fields, **lifted, "attributes": rest}


def _place(fields: Fields) -> Fields:
    lifted, rest = _apart(fields, _PLACE)
    return {**fields, **lifted, "attributes": rest}


def _device(fields: Fields) -> Fields:
    numbered, rest = _apart(fields, {"dev": "number"})
    of = _FACTS.get(str(fields.get("subsystem")))
    if of is None:
        return {**fields, **numbered, "attributes": rest}
    kind, renamed = of
    names = {name: name for name in kind.__struct_fields__} | renamed
    facts, rest = _apart({"attributes": rest}, names)
    if isinstance(speed := facts.get("speed_mbps"), str):
        facts["speed_mbps"] = _number(speed)
    tag = kind.__struct_config__.tag
    return {**fields, **numbered, "facts": {"of": tag, **facts}, "attributes": rest}


def _apart(fields: Fields, names: dict[str, str]) -> tuple[Fields, Fields]:
    """Attributes that are fields today, by their names of today, and the others."""
    attributes = msgspec.convert(fields.get("attributes", {}), Fields)
    lifted = {names[name]: value for name, value in attributes.items() if name in names}
    return lifted, {name: value for name, value in attributes.items() if name not in names}


def _number(words: str) -> float | None:
    """The speed of a USB link, which schema 1 kept as sysfs writes it."""
    try:
        value = float(words)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
