"""The table of guided checks, and which of them a machine is offered."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from livecheck.guided import Skip, offered, open_guide
from livecheck.guided.table import GUIDES, at_hand_over
from livecheck.records import (
    Complaint,
    Device,
    DeviceFacts,
    Inventory,
    NetFacts,
    NotTested,
    Part,
)
from tests.guided.support import LAPTOP, TABLE, TABLES

HEADER = Path("/usr/include/linux/input-event-codes.h")


def test_every_row_leads_somewhere() -> None:
    """State machine, check, kind and cautions exist."""
    for row in TABLE.check:
        assert row.guide in GUIDES or row.guide == "keyboard"
        assert row.becomes in TABLES.checks
        assert row.kind in TABLES.kinds
        assert set(row.cautions) <= set(TABLES.cautions)


def test_nothing_is_offered_to_a_machine_without_hardware() -> None:
    """No screen and no time for what is not there."""
    assert offered(Inventory(), TABLE) == ()
    wireless_only = Device(
        subsystem="net", name="wlan0", path="/sys/n", facts=NetFacts(wireless=True)
    )
    assert offered(Inventory(devices=(wireless_only,)), TABLE) == ()


def test_what_a_whole_laptop_is_offered() -> None:
    """One check a thing; ports inside the machine are not asked for."""
    names = [o.row.name for o in offered(LAPTOP, TABLE)]
    assert names == [
        "display", "backlight", "keyboard", "touchpad", "pointer", "usb-ports", "card-slot",
        "wired", "sound-output", "sound-input", "camera", "torch", "outside-picture",
        "lid-picture", "lid", "sensors", "clock",
    ]  # fmt: skip
    (ports,) = [o for o in offered(LAPTOP, TABLE) if o.row.name == "usb-ports"]
    assert [t.component for t in ports.targets] == ["usb:1-1", "usb:1-2"]


def test_a_hand_over_asks_what_is_for_every_machine_and_for_its_complaint() -> None:
    """Common practice, no source: nobody fetches an external screen for a machine that was slow."""
    offers = offered(LAPTOP, TABLE)
    for_picture = {"torch", "outside-picture", "lid-picture"}
    every = {o.row.name for o in at_hand_over(offers, Complaint.SLOW)}
    assert every == {o.row.name for o in offers} - for_picture
    assert at_hand_over(offers, Complaint.WRONG_PICTURE) == offers


@pytest.mark.parametrize("name", [o.row.name for o in offered(LAPTOP, TABLE)])
def test_everything_can_be_left_out(name: str) -> None:
    """Skipping is possible at the first step and comes to “not tested”, not to a reading."""
    (one,) = [o for o in offered(LAPTOP, TABLE) if o.row.name == name]
    guide = open_guide(one, TABLES, TABLE)
    assert not guide.start().done
    step = guide.feed(Skip())
    # The brightness is put back before the check ends; nothing was changed yet here.
    assert step.done and step.readings == ()
    assert step.not_tested
    assert all(isinstance(n, NotTested) and "left out" in n.why for n in step.not_tested)


def test_presence_needs_no_step() -> None:
    """A security chip that answers, and a fingerprint reader told by its name."""
    tpm = Device(subsystem="tpm", name="tpm0", path="/sys/t", attributes={"version": 2})
    reader = Part(
        id="usb-device@usb:1-6", kind="usb-device", name="Fingerprint Sensor", place="usb:1-6"
    )
    found = offered(Inventory(devices=(tpm,), parts=(reader,)), TABLE)
    assert [o.row.name for o in found] == ["fingerprint", "tpm"]
    for one in found:
        step = open_guide(one, TABLES, TABLE).start()
        assert step.done and [r.check for r in step.readings] == [one.row.becomes]


def test_key_codes_are_the_kernels() -> None:
    """Source: input-event-codes.h of the kernel, for the labels that are names there."""
    defined = dict(re.findall(r"#define KEY_(\w+)\s+(\d+)", HEADER.read_text("utf-8")))
    words = {"`": "GRAVE", "-": "MINUS", "=": "EQUAL", "Back": "BACKSPACE", "[": "LEFTBRACE",
             "]": "RIGHTBRACE", "\\": "BACKSLASH", "Caps": "CAPSLOCK", ";": "SEMICOLON",
             "'": "APOSTROPHE", ",": "COMMA", ".": "DOT", "/": "SLASH", "<": "102ND",
             "PgUp": "PAGEUP", "PgDn": "PAGEDOWN", "Ins": "INSERT", "Del": "DELETE",
             "AltGr": "RIGHTALT", "Alt": "LEFTALT", "Menu": "COMPOSE", "Print": "SYSRQ",
             "Num": "NUMLOCK", "n/": "KPSLASH", "n*": "KPASTERISK", "n-": "KPMINUS",
             "n+": "KPPLUS", "nEnter": "KPENTER", "n.": "KPDOT"}  # fmt: skip
    pairs = {"Shift": ["LEFTSHIFT", "RIGHTSHIFT"], "Ctrl": ["LEFTCTRL", "RIGHTCTRL"],
             "Logo": ["LEFTMETA", "RIGHTMETA"]}  # fmt: skip
    for key in (k for row in TABLE.keys for k in row):
        keypad = re.fullmatch(r"n(\d)", key.label)
        names = pairs.get(key.label) or [
            f"KP{keypad[1]}" if keypad else words.get(key.label, key.label.upper())
        ]
        assert str(key.code) in [defined[n] for n in names], key


def test_layout_has_no_key_twice() -> None:
    """Each code once."""
    codes = [k.code for row in TABLE.keys for k in row]
    assert len(codes) == len(set(codes))


def test_facts_a_check_asks_for_are_facts_that_the_inventory_has() -> None:
    """A misspelt name in the table would hide its check for ever."""
    known = {name for kind in get_args(DeviceFacts) for name in kind.__struct_fields__}
    wanted = {name for row in TABLE.check for need in row.needs for name in need.having}
    assert wanted
    assert wanted <= known
