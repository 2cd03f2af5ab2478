"""The screen lead watched while the lid moves, on a panel made of registers.

No public recording of such a watch is known: the panels here are built (tests/displayport).
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck.guided import Answered, Skip, open_guide
from livecheck.guided.screen_watch import ScreenLinks
from livecheck.guided.steps import DONE, GuideStep
from livecheck.records import Device, Outcome
from tests.displayport.sink import Sink
from tests.guided.support import LAPTOP, TABLE, TABLES, offer

CHANNEL = Device(
    subsystem="drm_dp_aux_dev", name="drm_dp_aux0", path="/sys/c/drm_dp_aux0",
    component="panel@panel:eDP-1", description="AUX channel of the panel",
)  # fmt: skip
MACHINE = msgspec.structs.replace(LAPTOP, devices=(*LAPTOP.devices, CHANNEL))


def watched(sink: Sink, stop: float = 1e9) -> tuple[GuideStep, list[str]]:
    """The last step, and what was shown on the way."""
    guide = open_guide(offer("hinge", MACHINE), TABLES, TABLE)
    links = ScreenLinks(sink)
    step = guide.start()
    shown: list[str] = []
    while not step.done:
        (watch,) = step.watch
        seen = links.look(watch.path, sink.clock())
        step = guide.feed(seen if sink.clock() < stop else Answered(value=DONE))
        shown += step.lines
        sink.wait(0.5)
    return step, shown


def test_a_lead_that_breaks_at_one_angle_is_found_with_its_time() -> None:
    step, shown = watched(Sink(rate=lambda now: 4000.0 if 10 < now < 12 else 0.0))
    (found,) = step.readings
    assert found.outcome is Outcome.FAILED and found.value == 1
    assert found.at == "panel@panel:eDP-1"
    assert 9.5 <= float(found.details[0].split()[1]) <= 10.5
    assert any(line.startswith("THE LINK BREAKS NOW") for line in shown)


@pytest.mark.parametrize("rate", [0.0, 4.0])
def test_a_lead_that_holds_passes_after_its_time(rate: float) -> None:
    """Four errors a second are fewer than 1e-9 of the bits of two lanes at 2.7 Gbit/s."""
    (found,) = watched(Sink(rate=lambda now: rate))[0].readings
    assert found.outcome is Outcome.PASSED and "45 s" in found.says


def test_a_lost_lane_without_counts_is_found_too() -> None:
    sink = Sink(counts=False)
    sink.status = lambda now: bytes([0x70 if 20 < now < 21 else 0x77, 0, 1, 1, 0, 0])
    (found,) = watched(sink)[0].readings
    assert found.outcome is Outcome.FAILED and "lane 0: clock recovery" in found.says


def test_what_could_not_be_watched_is_not_judged() -> None:
    quiet, silent = Sink(), Sink()
    quiet.refreshing = lambda now: True
    silent.silent = lambda now: True
    for sink in (quiet, silent):
        (found,) = watched(sink, stop=20.0)[0].readings
        assert found.outcome is Outcome.NOT_JUDGED
    (short,) = watched(Sink(), stop=5.0)[0].readings
    assert short.outcome is Outcome.NOT_JUDGED


def test_a_panel_that_falls_silent_midway_is_a_break() -> None:
    sink = Sink()
    sink.silent = lambda now: 20 < now < 21
    (found,) = watched(sink)[0].readings
    assert found.outcome is Outcome.FAILED and "does not answer" in found.says


def test_it_can_be_left_out_and_is_offered_for_panels_alone() -> None:
    guide = open_guide(offer("hinge", MACHINE), TABLES, TABLE)
    assert guide.feed(Skip()).not_tested[0].at == "panel@panel:eDP-1"
    outside = msgspec.structs.replace(CHANNEL, description="AUX channel of a display connector")
    with pytest.raises(StopIteration):
        offer("hinge", msgspec.structs.replace(LAPTOP, devices=(outside,)))
