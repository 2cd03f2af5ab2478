"""Keys and pads from the kernel's attributes."""

from __future__ import annotations

from livecheck.inventory.keys import find
from livecheck.inventory.tree import Contribution, Seen
from livecheck.records import Device, Part
from tests.inventory.fake_host import FakeHost, device


def test_own_keyboard_and_pad_are_parts_and_a_plugged_one_is_not() -> None:
    known = Seen()
    usb = Device(
        subsystem="usb", name="1-2", path="/sys/devices/usb1/1-2", component="usb-device:K"
    )
    plugged = Part(id="usb-device:K", kind="usb-device", name="keyboard", place="usb:1-2")
    known.add(Contribution(parts=(plugged,), devices=(usb,)))
    listed = [
        device("input", "input3", "/sys/devices/platform/i8042/serio0/input/input3",
               ID_INPUT_KEYBOARD="1"),
        device("input", "event3", "/sys/devices/platform/i8042/serio0/input/input3/event3"),
        device("input", "input5", "/sys/devices/pci0/i2c-1/i2c-X/input/input5",
               ID_INPUT_TOUCHPAD="1"),
        device("input", "input9", "/sys/devices/usb1/1-2/input/input9", ID_INPUT_KEYBOARD="1"),
        device("input", "input1", "/sys/devices/LNXSYSTM:00/PNP0C0C:00/input/input1"),
    ]  # fmt: skip
    found = find(FakeHost({}, listed), known)
    assert {d.name: d.component for d in found.devices} == {
        "input3": "keyboard@internal:keyboard",
        "input5": "touchpad@internal:touchpad",
        "input9": "usb-device:K",
        "input1": None,
    }


def test_a_touchscreen_belongs_to_the_panel_it_is_glued_to() -> None:
    """On I2C its path ends at a controller of the board: the board is not what failed."""
    known = Seen()
    known.add(Contribution(parts=(Part(id="panel:P", kind="panel", name="P", place="panel:1"),)))
    listed = device("input", "input9", "/sys/devices/pci0/i2c-1/i2c-X/input/input9",
                    ID_INPUT_TOUCHSCREEN="1")  # fmt: skip
    found = find(FakeHost({}, [listed]), known)
    assert [one.component for one in found.devices] == ["panel:P"]
