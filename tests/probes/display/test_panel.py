"""The panel's light and link, on screens made of registers."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from livecheck import capture
from livecheck.inventory import backlights, screens
from livecheck.inventory.tree import Contribution
from livecheck.probes import Context
from livecheck.probes.display import panel
from livecheck.probes.display.edid import EDID
from livecheck.probes.display.panel import ANSWERS, BRIGHTNESS, ERRORS, STATUS
from livecheck.records import Controller, Device, Outcome
from tests.displayport.sink import Sink
from tests.inventory import edid_builder as build
from tests.inventory.fake_host import attributes, device
from tests.probes.support import context, readings, untested

CARD = "/sys/devices/pci0000:00/0000:00:02.0"
EDP = f"{CARD}/drm/card0/card0-eDP-1"
LIGHT = f"{EDP}/lamp"
CHIP = Controller(id="pci:0000:00:02.0", kind="display-controller", name="graphics")
GRAPHICS = Contribution(
    controllers=(CHIP,),
    devices=(Device(subsystem="pci", name="0000:00:02.0", path=CARD, component=CHIP.id),),
)
LISTED = (
    device("drm", "card0-eDP-1", EDP),
    device("drm_dp_aux_dev", "drm_dp_aux0", f"{EDP}/drm_dp_aux0"),
    device("backlight", "lamp", LIGHT),
)


def laptop(sink: Sink, level: int = 500, off: int = 0) -> Context:
    sink.devices = LISTED
    sink.files |= {f"{EDP}/status": "connected", f"{EDP}/edid": build.panel()}
    sink.links = {f"{EDP}/ddc": f"{EDP}/i2c-5"}
    sink.files |= attributes(LIGHT, type="raw", brightness=level, max_brightness=1000, bl_power=off)
    return context(sink, screens.find, backlights.find, first=GRAPHICS)


def test_a_sound_link_holds_and_says_how_it_runs() -> None:
    found = readings(panel.probe, laptop(Sink()))
    assert {r.outcome for r in found.values()} == {Outcome.PASSED}
    assert "2 of 4 lanes at 2.7 Gbit/s" in found[STATUS].says
    assert found[ERRORS].value == 0 and found[ERRORS].device == "drm_dp_aux0"
    assert {r.at for r in found.values()} == {"panel:LNX002A SN-0815"}


def test_damaged_symbols_fail_from_the_standards_rate_on() -> None:
    """2 lanes at 2.7 Gbit/s may have 5.4 errors a second."""
    few = readings(panel.probe, laptop(Sink(rate=lambda now: 4.0)))[ERRORS]
    assert few.outcome is Outcome.PASSED and few.value
    found = readings(panel.probe, laptop(Sink(rate=lambda now: 8.0)))[ERRORS]
    assert found.outcome is Outcome.FAILED
    assert found.details[0].startswith("lane 0: ")


def test_a_lane_lost_now_and_then_is_told() -> None:
    sink = Sink()
    sink.status = lambda now: bytes([0x37 if 2 < now < 3 else 0x77, 0, 1, 1, 0, 0])
    found = readings(panel.probe, laptop(sink))[STATUS]
    assert found.outcome is Outcome.FAILED
    assert found.details == ("lane 1: symbol lock",)


def test_a_channel_that_drops_out_is_told_and_a_silent_one_is_not_judged() -> None:
    sink = Sink()
    sink.silent = lambda now: 2 < now < 3
    assert readings(panel.probe, laptop(sink))[ANSWERS].outcome is Outcome.FAILED
    sink.silent = lambda now: True
    found = readings(panel.probe, laptop(sink))
    assert {r.outcome for c, r in found.items() if c != BRIGHTNESS} == {Outcome.NOT_JUDGED}
    assert "never answered" in (found[ANSWERS].why_not or "")


def test_a_panel_showing_its_own_memory_tells_nothing_of_the_link() -> None:
    sink = Sink()
    sink.refreshing = lambda now: True
    sink.status = lambda now: bytes(6)
    found = readings(panel.probe, laptop(sink))
    assert found[STATUS].outcome is found[ERRORS].outcome is Outcome.NOT_JUDGED


@pytest.mark.parametrize(
    ("level", "off", "outcome"),
    [(500, 0, Outcome.PASSED), (10, 0, Outcome.FAILED), (500, 4, Outcome.FAILED)],
)
def test_a_panel_set_dark_is_told(level: int, off: int, outcome: Outcome) -> None:
    assert readings(panel.probe, laptop(Sink(), level, off))[BRIGHTNESS].outcome is outcome


def test_without_a_channel_the_link_is_not_tested() -> None:
    sink = Sink()
    given = laptop(sink)
    kept = tuple(d for d in given.inventory.devices if d.subsystem != "drm_dp_aux_dev")
    bare = msgspec.structs.replace(
        given, inventory=msgspec.structs.replace(given.inventory, devices=kept)
    )
    assert list(untested(panel.probe, bare)) == ["Link of panel LNX Test EDID"]
    nothing = msgspec.structs.replace(given.inventory, parts=())
    assert "Screen" in untested(panel.probe, msgspec.structs.replace(given, inventory=nothing))


def test_a_recorded_panel_is_judged_alike(tmp_path: Path) -> None:
    given = laptop(Sink(rate=lambda now: 30.0))
    recording = capture.RecordingHost(given.host, "probe:display")
    first = readings(panel.probe, msgspec.structs.replace(given, host=recording))
    capture.save(tmp_path / "c", recording, "test")
    again = capture.load(tmp_path / "c").scope("probe:display")
    assert readings(panel.probe, msgspec.structs.replace(given, host=again)) == first
    assert first[ERRORS].outcome is Outcome.FAILED


@pytest.mark.parametrize("flaky", [0, 1, 9])
def test_an_edid_that_comes_damaged_now_and_then_is_told(flaky: int) -> None:
    """The checksum of VESA EDID 1.4; 20 reads."""
    bad = bytearray(build.panel())
    bad[70] ^= 0x10
    sink = Sink()
    sink.edid = lambda asked: bytes(bad) if asked <= flaky else build.panel()
    found = readings(panel.probe, laptop(sink))[EDID]
    assert found.outcome is (Outcome.FAILED if flaky else Outcome.PASSED)
    assert found.value == flaky and sink.asked == 20


def test_an_edid_that_is_always_damaged_is_told_as_such() -> None:
    bad = bytearray(build.panel())
    bad[70] ^= 0x10
    sink = Sink()
    sink.edid = lambda asked: bytes(bad)
    found = readings(panel.probe, laptop(sink))[EDID]
    assert found.outcome is Outcome.FAILED and "checksum" in found.says


def test_extensions_are_no_damage_of_the_first_block() -> None:
    sink = Sink()
    sink.edid = lambda asked: build.panel(extensions=1)
    assert readings(panel.probe, laptop(sink))[EDID].outcome is Outcome.PASSED


def test_without_a_bus_one_read_of_the_kernels_is_no_proof() -> None:
    sink = Sink()
    sink.silent = lambda now: True
    assert readings(panel.probe, laptop(sink))[EDID].outcome is Outcome.NOT_JUDGED
