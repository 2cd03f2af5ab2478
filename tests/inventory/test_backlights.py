"""Backlights at their panel, and the inverter that only old panels have."""

from __future__ import annotations

import pytest

from livecheck.inventory import backlights
from livecheck.inventory.tree import Contribution, Seen
from livecheck.records import BacklightFacts, Part, Place, ScreenFacts
from tests.inventory.fake_host import SYS, FakeHost, attributes, device

CONNECTOR = f"{SYS}/0000:00:02.0/drm/card0/card0-LVDS-1"


def seen(*connectors: str, year: int | None = 2008) -> Seen:
    known = Seen()
    places = [Place(id=f"panel:{c}", kind="panel-connector", name=c) for c in connectors]
    panels = [
        Part(id=f"panel@{p.id}", kind="panel", name="panel", place=p.id,
             screen=ScreenFacts(year=year))
        for p in places
    ]  # fmt: skip
    known.add(Contribution(places=tuple(places), parts=tuple(panels)))
    return known


def test_level_type_and_switch_are_read() -> None:
    """Values as Documentation/ABI/stable/sysfs-class-backlight of Linux words them."""
    folder = f"{CONNECTOR}/lamp"
    files = attributes(folder, type="raw", brightness=0, max_brightness=900, bl_power=4)
    host = FakeHost(files, [device("backlight", "lamp", folder)])
    (light,) = backlights.find(host, seen("eDP-1")).devices
    assert light.facts == BacklightFacts(type="raw", level=0, max_level=900, off=True)
    assert light.component == "panel@panel:eDP-1"
    silent = FakeHost({}, [device("backlight", "lamp", folder)])
    assert backlights.find(silent, seen("eDP-1")).devices[0].facts == BacklightFacts()


def test_of_two_panels_none_is_guessed() -> None:
    host = FakeHost({}, [device("backlight", "acpi_video0")])
    (light,) = backlights.find(host, seen("eDP-1", "DSI-1")).devices
    assert light.component is None


@pytest.mark.parametrize(
    ("connector", "year", "lamp"),
    [
        ("LVDS-1", 2008, True),
        ("LVDS-1", 2012, False),
        ("LVDS-1", None, False),
        ("eDP-1", 2008, False),
    ],
)
def test_only_an_old_panel_has_an_inverter(connector: str, year: int | None, lamp: bool) -> None:
    found = backlights.find(FakeHost(), seen(connector, year=year)).places
    assert [p.kind for p in found] == (["backlight-inverter"] if lamp else [])
