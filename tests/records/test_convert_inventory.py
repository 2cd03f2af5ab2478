"""Inventories of schema 1 are read with the fields of today.

``inventories-schema1.json.gz`` holds those of the three invented laptops of
``tests/testbeds`` as the last version that wrote schema 1 (5ce2c36) took them.
"""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from typing import Any

import msgspec
import pytest

from livecheck.inventory import take
from livecheck.records import (
    BlockFacts,
    Device,
    InputFacts,
    Inventory,
    Part,
    PciFacts,
    Place,
    ScreenFacts,
    UsbFacts,
)
from livecheck.records.convert_inventory import inventory
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

KEPT: dict[str, Any] = json.loads(
    gzip.decompress((Path(__file__).parent / "inventories-schema1.json.gz").read_bytes())
)


def _converted(fields: dict[str, Any]) -> Inventory:
    return msgspec.convert(inventory(fields), Inventory)


def _values(words: Any) -> set[tuple[str, str]]:
    """Every plain value that stands in decoded JSON, with the name it stands under."""
    if isinstance(words, list | tuple):
        return {one for word in words for one in _values(word)}
    if not isinstance(words, dict):
        return set()
    plain = {(k, json.dumps(v)) for k, v in words.items() if not isinstance(v, dict | list)}
    return plain.union(*(_values(value) for value in words.values()))


@pytest.mark.parametrize("name", KEPT)
def test_nothing_that_was_recorded_is_lost(name: str) -> None:
    """Every value is still there, under its old name or the one of today."""
    now = {"dev": "number", "card": "sound_card", "input": "kind"}
    now |= {"edid_read": "read", "edid_damage": "damage"}
    kept = {
        (now.get(key, key), str(float(json.loads(value))) if key == "speed_mbps" else value)
        for key, value in _values(KEPT[name])
    }
    assert kept <= _values(msgspec.to_builtins(_converted(KEPT[name])))


@pytest.mark.parametrize("name", KEPT)
def test_a_converted_inventory_is_the_one_taken_today(name: str) -> None:
    """The same laptop, enumerated then and now: equal but for what things are called."""
    now, then = take(BedHost(laptops.ALL[name]())), _converted(KEPT[name])
    assert _unnamed(then) == _unnamed(now)


def _unnamed(taken: Inventory) -> list[Part | Place | Device]:
    parts = [msgspec.structs.replace(part, name="") for part in taken.parts]
    places = [msgspec.structs.replace(place, name="") for place in taken.places]
    return [*parts, *places, *taken.devices]


def test_what_the_laptops_do_not_have() -> None:
    """USB speeds were text as sysfs writes them; a panel's EDID and a pad had other names."""
    kept = {
        "parts": [
            {"id": "panel@p", "kind": "panel", "name": "panel", "place": "p",
             "attributes": {"edid_read": True, "maker": "LNX", "width_px": 1920}},
            {"id": "speaker@s", "kind": "speaker", "name": "speaker", "place": "s",
             "attributes": {"card": "card0"}},
            {"id": "drive@u", "kind": "drive", "name": "stick", "place": "u",
             "attributes": {"bench_own": True, "wwn": "0x5000"}},
        ],
        "places": [
            {"id": "jack:AC", "kind": "power-jack", "name": "jack",
             "attributes": {"told_fitted": True, "supply_type": "Mains"}},
        ],
        "devices": [
            {"subsystem": "usb", "name": "1-1", "path": "/sys/u",
             "attributes": {"speed_mbps": "1.5", "usb_id": "1:2"}},
            {"subsystem": "usb", "name": "1-2", "path": "/sys/v",
             "attributes": {"speed_mbps": "unknown"}},
            {"subsystem": "input", "name": "input3", "path": "/sys/i",
             "attributes": {"input": "mouse", "inside": True}},
            {"subsystem": "block", "name": "sda", "path": "/sys/b",
             "attributes": {"dev": "8:0", "partition": True, "read_only": False}},
            {"subsystem": "pci", "name": "0000:01:00.0", "path": "/sys/p",
             "attributes": {"above": "0000:00:1c.0", "class": "010802"}},
            {"subsystem": "rtc", "name": "rtc0", "path": "/sys/r", "attributes": {"chip": "c"}},
        ],
    }  # fmt: skip
    found = _converted(kept)
    panel, speaker, stick = found.parts
    assert panel.screen == ScreenFacts(read=True, maker="LNX", width_px=1920)
    assert (panel.attributes, speaker.sound_card) == ({}, "card0")
    assert (stick.bench_own, stick.attributes) == (True, {"wwn": "0x5000"})
    assert found.places == (
        Place(id="jack:AC", kind="power-jack", name="jack", told_fitted=True,
              attributes={"supply_type": "Mains"}),
    )  # fmt: skip
    assert [(d.number, d.facts, d.attributes) for d in found.devices] == [
        (None, UsbFacts(speed_mbps=1.5), {"usb_id": "1:2"}),
        (None, UsbFacts(), {}),
        (None, InputFacts(kind="mouse", inside=True), {}),
        ("8:0", BlockFacts(partition=True), {"read_only": False}),
        (None, PciFacts(above="0000:00:1c.0"), {"class": "010802"}),
        (None, None, {"chip": "c"}),
    ]


def test_a_record_without_attributes_is_read() -> None:
    part = Part(id="p", kind="drive", name="d", place="x")
    device = Device(subsystem="net", name="n", path="/sys/n")
    kept = json.loads(msgspec.json.encode(Inventory(parts=(part,), devices=(device,))))
    for one in (*kept["parts"], *kept["devices"]):
        del one["attributes"]
    assert _converted(kept).parts == (part,)


@pytest.mark.parametrize(
    "nonsense",
    [
        7,
        {"parts": 7},
        {"parts": [7]},
        {"parts": [{"attributes": 7}]},
        {"devices": [{"subsystem": ["usb"], "attributes": {"speed_mbps": "1e999"}}, None]},
    ],
)
def test_what_schema_1_could_not_have_written_is_refused(nonsense: object) -> None:
    with pytest.raises(msgspec.ValidationError):
        msgspec.convert(inventory(nonsense), Inventory)
