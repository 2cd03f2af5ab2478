"""Screens from the kernel's attributes."""

from __future__ import annotations

from livecheck.inventory import ids
from livecheck.inventory.screens import find
from livecheck.inventory.tree import Contribution, Seen
from livecheck.records import Controller, Device, Presence, ScreenFacts
from tests.inventory import edid_builder as build
from tests.inventory.fake_host import FakeHost, device

CARD = "/sys/devices/pci0000:00/0000:00:02.0"
EDP = f"{CARD}/drm/card0/card0-eDP-1"
HDMI = f"{CARD}/drm/card0/card0-HDMI-A-1"


def seen() -> Seen:
    known = Seen(ids.IdDatabase(pnp=b"LNX\tInvented Panels\n"))
    display = Controller(id="pci:0000:00:02.0", kind="display-controller", name="graphics")
    function = Device(subsystem="pci", name="0000:00:02.0", path=CARD, component=display.id)
    known.add(Contribution(controllers=(display,), devices=(function,)))
    return known


def screens(edid: bytes, status: str = "connected") -> Contribution:
    listed = [
        device("drm", "card0", f"{CARD}/drm/card0"),
        device("drm", "card0-eDP-1", EDP),
        device("drm", "card0-HDMI-A-1", HDMI),
        device("drm_dp_aux_dev", "drm_dp_aux0", f"{EDP}/drm_dp_aux0"),
        device("drm_dp_aux_dev", "drm_dp_aux1", f"{CARD}/drm_dp_aux1"),
    ]
    files: dict[str, str | bytes | int] = {
        f"{EDP}/status": status,
        f"{EDP}/edid": edid,
        f"{HDMI}/status": "disconnected",
    }
    return find(FakeHost({**files, f"{HDMI}/edid": b""}, listed), seen())


def test_a_panel_is_known_by_its_edid() -> None:
    found = screens(build.panel())
    (panel,) = found.parts
    assert panel.identity == "serial:LNX002A SN-0815"
    assert panel.vendor == "Invented Panels" and panel.model == "Test EDID"
    assert panel.screen is not None
    assert (panel.screen.width_px, panel.screen.width_mm) == (1920, 309)
    assert panel.place == "panel:eDP-1"
    place = found.places[0]
    assert place.controller == "pci:0000:00:02.0" and place.presence is Presence.SEEN
    assert {d.name: d.component for d in found.devices} == {
        "card0-eDP-1": panel.id,
        "card0-HDMI-A-1": "pci:0000:00:02.0",
        "drm_dp_aux0": panel.id,
    }
    assert {d.description for d in found.devices if "aux" in d.name} == {"AUX channel of the panel"}


def test_a_panel_without_an_edid_is_known_by_its_place() -> None:
    (panel,) = screens(b"").parts
    assert panel.id == "panel@panel:eDP-1"
    assert panel.screen == ScreenFacts(status="connected", read=False)
    broken = bytearray(build.panel())
    broken[60] ^= 1
    (panel,) = screens(bytes(broken)).parts
    assert panel.screen is not None
    assert panel.screen.damage == "The checksum of EDID block 0 is wrong."


def test_a_connector_without_a_panel_is_an_empty_place() -> None:
    found = screens(b"", "disconnected")
    assert found.parts == () and found.places[0].presence is Presence.EMPTY


def test_an_external_screen_is_named_at_its_connector() -> None:
    listed = [device("drm", "card0-HDMI-A-1", HDMI)]
    files: dict[str, str | bytes | int] = {f"{HDMI}/status": "connected"}
    found = find(FakeHost({**files, f"{HDMI}/edid": build.panel()}, listed), seen())
    (screen,) = found.devices
    assert screen.description == "external screen LNX Test EDID at display connector HDMI-A-1"
    assert isinstance(screen.facts, ScreenFacts) and screen.facts.status == "connected"
    assert found.parts == () and screen.component == "pci:0000:00:02.0"


def test_the_bus_of_an_edid_is_linked_or_lies_under_the_connector() -> None:
    """Linux, drm_sysfs.c: ``ddc`` links to the adapter where the driver told which it is."""
    listed = [device("drm", "card0-eDP-1", EDP)]
    connected: dict[str, str | bytes | int] = {f"{EDP}/status": "connected"}
    linked = FakeHost(connected, listed, links={f"{EDP}/ddc": "/sys/devices/pci/i2c-7"})
    under = FakeHost({**connected, f"{EDP}/i2c-3/name": "AUX A"}, listed)
    for host, bus in ((linked, "i2c-7"), (under, "i2c-3"), (FakeHost(connected, listed), None)):
        facts = find(host, seen()).devices[0].facts
        assert isinstance(facts, ScreenFacts) and facts.bus == bus
