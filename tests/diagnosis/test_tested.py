"""When enough was looked at to say that no fault was found, and when it was not.

Common practice, no source: what nobody tested is not sound, and without a complaint one whole
look is what was asked for.
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import CleanedPart, Complaint, Outcome, Reading, Side
from tests.diagnosis.story import BAY, CARD, COOLING, PROCESSOR, Story, says, steps


def test_a_machine_told_dead_that_always_lives_is_sound_as_far_as_tested() -> None:
    """No probe runs under this complaint: what is looked at is whether it comes to life."""
    story = Story(Complaint.NO_POWER)
    alive = Reading(check="bench.life", at="machine", outcome=Outcome.PASSED)
    for turn in range(5):
        story.run()
        seen = story.runs[-1]
        readings = (*seen.readings, alive) if turn == 0 else (alive,)
        story.runs[-1] = msgspec.structs.replace(seen, readings=readings)
    found = story.locate()
    assert found.side is Side.NO_FAULT
    assert says(found, "in what was tested")


def test_a_picture_seen_twice_is_not_enough_whatever_was_loaded_then() -> None:
    """It is seen once in a start, as whether it starts: a full memory test looks at no screen."""
    story = Story(Complaint.NO_PICTURE)
    seen = Reading(check="bench.own-screen", at="machine", outcome=Outcome.PASSED)
    for depth in ("quick", "full"):
        story.run(depth=depth)
        run = story.runs[-1]
        story.runs[-1] = msgspec.structs.replace(run, readings=(*run.readings, seen))
    found = story.locate()
    assert found.side is not Side.NO_FAULT
    assert steps(found)


def test_an_intake_without_complaint_ends_after_one_clean_look() -> None:
    story = Story(Complaint.INTAKE)
    story.run()
    found = story.locate()
    assert found.side is Side.NO_FAULT
    assert found.next_step is None


def test_an_intake_of_which_little_was_looked_at_calls_nothing_sound() -> None:
    """A run that was stopped, and one without the loads of memory and drive, test nothing."""
    story = Story(Complaint.INTAKE)
    story.run()
    whole, loads = story.runs[0], ("memory.words", "storage.read-errors")
    passive = tuple(one for one in whole.readings if one.check not in loads)
    for run in (
        msgspec.structs.replace(whole, finished=False, stopped=True),
        msgspec.structs.replace(whole, readings=passive),
    ):
        story.runs = [run]
        assert story.locate().side is Side.UNDETERMINED


def test_a_machine_told_dead_that_nobody_looked_at_is_not_called_sound() -> None:
    story = Story(Complaint.NO_POWER)
    unseen = Reading(check="bench.life", at="machine", outcome=Outcome.NOT_JUDGED)
    for turn in range(5):
        story.run()
        seen = story.runs[-1]
        readings = (*seen.readings, unseen) if turn == 0 else (unseen,)
        story.runs[-1] = msgspec.structs.replace(seen, readings=readings)
    assert story.locate().side is Side.UNDETERMINED


def test_a_measurement_at_the_bench_is_no_look_of_the_machine_at_itself() -> None:
    """What the machine looked at before it is left to be looked at again."""
    story = Story(Complaint.NOT_CHARGING)
    story.run()
    before = {step.action for step in steps(story.locate())}
    assert Action.SOAK in before
    story.run()
    meter = Reading(check="bench.battery-out", at=BAY, outcome=Outcome.PASSED)
    story.runs[-1] = msgspec.structs.replace(story.runs[-1], readings=(meter,))
    assert Action.SOAK in {step.action for step in steps(story.locate())}


def test_cooling_is_not_cleaned_for_what_it_could_not_cause() -> None:
    """A card that hears nothing: were it cured meanwhile, the cleaning would have cured it."""
    story = Story(Complaint.PART_MISSING)
    for _ in range(3):
        card = (f"wireless.hears {CARD.id}", f"wireless.firmware {CARD.id}")
        story.run(*card, "kernel.firmware machine")
        assert Action.CLEAN not in {step.action for step in steps(story.locate())}


def test_cooling_is_cleaned_before_a_slow_system_is_put_right() -> None:
    """Heat is ruled out before a system is installed anew (common practice, no source): it slows
    the machine down for certain, and cleaning takes nothing from its owner."""
    story = Story(Complaint.SLOW)
    hot = (
        f"heat.temperature {PROCESSOR}", f"heat.throttled {PROCESSOR}",
        f"processor.throttling {PROCESSOR}", f"heat.cooling {COOLING}", f"heat.stopped {COOLING}",
    )  # fmt: skip
    values = {"heat.temperature": 100.0, "heat.throttled": 8.2, "processor.throttling": 25,
              "heat.cooling": 3.4, "heat.stopped": 100.0}  # fmt: skip
    held = [Reading(check=check, at=at, outcome=Outcome.PASSED, value=100.0)
            for check, at in (("heat.trip", PROCESSOR), ("heat.critical", COOLING))]  # fmt: skip
    for depth in ("quick", "full"):
        story.run(*hot, "ended.panic machine", depth=depth, values=values)
        seen = story.runs[-1]
        story.runs[-1] = msgspec.structs.replace(seen, readings=(*seen.readings, *held))
    found = [step.action for step in steps(story.locate())]
    assert (
        Action.REPAIR_SYSTEM in found and Action.CLEAN in found[: found.index(Action.REPAIR_SYSTEM)]
    )


@pytest.mark.parametrize("complaint", [Complaint.SWITCHES_OFF, Complaint.UNSTABLE, Complaint.SLOW])
@pytest.mark.parametrize("runs_hot", [(0, 1, 1, 1, 1), (0, 0, 0, 0, 1), (0, 1, 0, 0, 0)])
def test_what_ran_hot_is_cleaned_before_no_more_is_looked_for(
    complaint: Complaint, runs_hot: tuple[int, ...]
) -> None:
    """Common practice, no source: heat is ruled out first, whenever it was seen."""
    story = Story(complaint)
    for hot in runs_hot:
        story.run(*([f"heat.temperature {PROCESSOR}"] * hot))
    found = story.locate("no spare: cooling assembly")
    told = [step.action for step in steps(found)]
    assert Action.CLEAN in told, told
    if Action.REPAIR_SYSTEM in told:
        assert told.index(Action.CLEAN) < told.index(Action.REPAIR_SYSTEM), told
    assert found.side is not Side.NO_FAULT or told[0] == Action.CLEAN, told
    story.run(told=(CleanedPart(part=COOLING),))
    after = [step.action for step in steps(story.locate("no spare: cooling assembly"))]
    assert Action.CLEAN not in after, after
