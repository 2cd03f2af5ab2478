"""Screens, keys, lid and clock from the kernel's attributes."""

from __future__ import annotations

from livecheck.inventory import ids, misc
from livecheck.inventory.tree import Contribution, Seen
from livecheck.records import Controller, Device, Part, Presence
from tests.inventory import edid_builder as build
from tests.inventory.fake_host import FakeHost, attributes, device

CARD = "/sys/devices/pci0000:00/0000:00:02.0"
EDP = f"{CARD}/drm/card0/card0-eDP-1"
HDMI = f"{CARD}/drm/card0/card0-HDMI-A-1"


def seen() -> Seen:
    known = Seen(ids.Names(pnp=b"LNX\tInvented Panels\n"))
    display = Controller(id="pci:0000:00:02.0", kind="display-controller", name="graphics")
    function = Device(subsystem="pci", name="0000:00:02.0", path=CARD, component=display.id)
    known.add(Contribution(controllers=(display,), devices=(function,)))
    return known


def screens(edid: bytes, status: str = "connected") -> Contribution:
    listed = [
        device("drm", "card0", f"{CARD}/drm/card0"),
        device("drm", "card0-eDP-1", EDP),
        device("drm", "card0-HDMI-A-1", HDMI),
    ]
    files: dict[str, str | bytes | int] = {
        f"{EDP}/status": status,
        f"{EDP}/edid": edid,
        f"{HDMI}/status": "disconnected",
    }
    return misc.find(FakeHost({**files, f"{HDMI}/edid": b""}, listed), seen())


def test_panel_with_its_identity() -> None:
    found = screens(build.panel())
    (panel,) = found.parts
    assert panel.identity == "serial:LNX002A SN-0815"
    assert panel.vendor == "Invented Panels" and panel.model == "Test EDID"
    assert panel.attributes["width_px"] == 1920 and panel.attributes["width_mm"] == 309
    assert panel.place == "panel:eDP-1"
    place = found.places[0]
    assert place.controller == "pci:0000:00:02.0" and place.presence is Presence.SEEN
    assert {d.name: d.component for d in found.devices} == {
        "card0-eDP-1": panel.id,
        "card0-HDMI-A-1": "pci:0000:00:02.0",
    }


def test_panel_that_does_not_tell_who_it_is() -> None:
    (panel,) = screens(b"").parts
    assert panel.id == "panel@panel:eDP-1"
    assert panel.attributes == {"edid_read": False} or panel.attributes["edid_read"] is False
    broken = bytearray(build.panel())
    broken[60] ^= 1
    (panel,) = screens(bytes(broken)).parts
    assert panel.attributes["edid_damage"] == "The checksum of EDID block 0 is wrong."


def test_no_panel_at_the_connector() -> None:
    found = screens(b"", "disconnected")
    assert found.parts == () and found.places[0].presence is Presence.EMPTY


def test_own_keyboard_and_pad_are_parts_and_a_plugged_one_is_not() -> None:
    known = seen()
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
    found = misc.find(FakeHost({}, listed), known)
    assert {d.name: d.component for d in found.devices} == {
        "input3": "keyboard@internal:keyboard",
        "input5": "touchpad@internal:touchpad",
        "input9": "usb-device:K",
        "input1": None,
    }


def test_lid_clock_and_the_rest() -> None:
    listed = [
        device("rtc", "rtc0"),
        device("tpm", "tpm0"),
        device("sound", "card0"),
        device("sound", "controlC0"),
        device("video4linux", "video0"),
        device("backlight", "intel_backlight"),
    ]
    files = {"/proc/acpi/button/lid/LID0/state": "state:      open\n"}
    files |= attributes("/sys/devices/platform/tpm0", tpm_version_major=2)
    files |= attributes("/sys/devices/platform/intel_backlight", brightness=0, max_brightness=900)
    found = misc.find(FakeHost(files, listed), Seen())
    devices = {d.name: d for d in found.devices}
    assert set(devices) == {"rtc0", "tpm0", "card0", "video0", "intel_backlight", "LID0"}
    assert devices["LID0"].attributes["open"] is True
    assert devices["tpm0"].attributes["version"] == 2
    assert devices["intel_backlight"].attributes["brightness"] == 0
    assert devices["rtc0"].component == "coin-cell@internal:clock-battery"
    assert [p.kind for p in found.parts] == ["coin-cell"]
