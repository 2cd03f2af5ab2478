"""What was done is not proposed again, and what a treatment did not end is not its cure.

Answers are common practice, no source; the ways to go wrong are from plays of
``tests.simulation.visits``.
"""

from __future__ import annotations

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import (
    CleanedPart,
    Complaint,
    ComplaintShows,
    LookedInside,
    RepairedPart,
    WhereShown,
)
from tests.diagnosis.story import COOLING, Story, done, share, steps

HOT = (
    "heat.temperature processor@socket:1",
    "heat.throttled processor@socket:1",
    "processor.throttling processor@socket:1",
    f"heat.cooling {COOLING}",
    "kernel.thermal machine",
)
INSIDE = "complaint.inside machine"
SHOWN = ComplaintShows(where=WhereShown.INSIDE)


def _cleaned(*failed: str) -> Story:
    """A machine that was hot and is clean, with what failed after that."""
    story = Story(Complaint.SLOW)
    story.run(*HOT, INSIDE, told=(SHOWN,))
    story.run(*failed, told=(CleanedPart(part=COOLING),))
    return story


def test_what_cleaning_cured_is_not_the_cause_where_the_complaint_goes_on() -> None:
    story = _cleaned(INSIDE)
    for _ in range(3):
        found = story.locate()
        assert found.component != COOLING
        assert found.next_step is not None
        story.run()


def test_it_is_where_the_complaint_went_with_it() -> None:
    story = _cleaned()
    for _ in range(3):
        story.run()
    assert share(story.locate(), COOLING) > 0.6
    assert story.locate().component == COOLING


def test_a_start_that_ended_hot_again_speaks_for_the_cooling() -> None:
    """It is how the complaint shows, and what is blamed on the cooling."""
    story = Story(Complaint.SWITCHES_OFF)
    story.run(*HOT, "ended.hot machine")
    story.run("ended.hot machine", told=(CleanedPart(part=COOLING),))
    assert story.locate().candidates[0].component == COOLING


def test_a_system_is_put_on_anew_once() -> None:
    story = Story(Complaint.UNSTABLE)
    for _ in range(14):
        story.run(depth="full", told=(LookedInside(),))
    assert Action.REPAIR_SYSTEM in {step.action for step in steps(story.locate())}
    story.run(told=(RepairedPart(component="software"),))
    for _ in range(3):
        story.run()
        assert Action.REPAIR_SYSTEM not in {step.action for step in steps(story.locate())}


def test_a_swollen_battery_is_taken_out_with_its_caution() -> None:
    story = Story(Complaint.SLOW)
    story.run("intake.swollen battery:INV-B1")
    step = story.locate().next_step
    assert step is not None and (step.action, step.target) == (Action.REPLACE, "battery:INV-B1")
    assert {"static", "cell"} <= set(step.cautions)


def test_who_looks_inside_is_told_of_static_and_the_cell() -> None:
    story = Story(Complaint.UNSTABLE)
    for _ in range(14):
        story.run(depth="full")
    (step,) = (one for one in steps(story.locate()) if one.action == Action.INSPECT)
    assert step.cautions == ("static", "cell")
    assert (Action.INSPECT, "machine") in done(story.locate())
