"""What forty machines that walked in taught the engine; common practice of the trade, no source."""

from __future__ import annotations

from livecheck import intake
from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Complaint, Location, ToldLine
from tests.diagnosis.story import DIMM_A, DRIVE, Story, part, plain, says, share, steps, tables

SOLDERED = part("memory-module", "INV-MS", DIMM_A, soldered=True)
SPEAKER = plain("speaker", "internal:speaker")


def test_no_module_is_moved_to_where_one_is_soldered() -> None:
    """There is nothing to take out and no place to put it in."""
    story = Story(Complaint.UNSTABLE)
    story.fit(SOLDERED)
    story.run("memory.error-counts memory-module:INV-MB")
    moved = [one for one in steps(story.locate()) if one.action == Action.MOVE]
    assert [one for one in moved if DIMM_A in (one.to, one.target)] == []
    free = Story(Complaint.UNSTABLE)
    free.run("memory.error-counts memory-module:INV-MB")
    assert [one.to for one in steps(free.locate()) if one.action == Action.MOVE] == [DIMM_A]


def test_what_was_told_of_when_it_shows_weighs() -> None:
    """On battery alone: the battery is weighed likelier than the adapter, and it is said why."""
    sheet = tables().intake
    told = (ToldLine(about="when", words="on battery"),)
    story = Story(Complaint.SWITCHES_OFF)
    story.run()
    plain = story.locate()
    leant = locate("story", story.runs, tables(), Resources(leans=intake.leans(told, sheet)))
    assert share(leant, "battery") > 2 * share(plain, "battery")
    assert share(leant, "adapter") < share(plain, "adapter") / 2
    assert any("When it shows: on battery" in words for words in leant.explanation)


def test_every_word_that_weighs_is_offered_and_names_a_kind() -> None:
    """A word nobody can choose, or a kind that no table has, would weigh nothing."""
    rows = [row for row in tables().intake.values() if row.weighs]
    assert rows
    for row in rows:
        for word, factors in row.weighs.items():
            assert [one for one in row.choices if word in one], (row.about, word)
            assert set(factors) <= set(tables().kinds)
            assert all(0.05 <= factor <= 10 and factor != 1.0 for factor in factors.values())


def _missing(*failed: str) -> Location:
    """A machine with keyboard and speaker in which something does not do its work."""
    story = Story(Complaint.PART_MISSING)
    story.fit(SPEAKER)
    story.fit(plain("keyboard", "internal:keyboard"))
    story.run(*failed)
    return story.locate()


def test_what_failed_by_hand_is_what_is_missed() -> None:
    """A speaker heard to be dead from the stick leads before system and drive, as it should."""
    found = _missing(f"guided.sound-output {SPEAKER.id}")
    assert found.candidates[0].component == SPEAKER.id
    assert share(found, "software") < 0.2 and share(found, "drive") < 0.1
    assert not says(_missing(), "failed by hand")


def test_a_drive_that_answers_is_seldom_what_is_missing() -> None:
    """Unless something failed at it."""
    plain_share = share(_missing(), DRIVE.id)
    assert plain_share < 0.08
    assert share(_missing(f"storage.medium-errors {DRIVE.id}"), DRIVE.id) > 4 * plain_share


def test_no_keyboard_is_tried_in_another_machine() -> None:
    """It fits no machine but its own model's."""
    found = _missing("guided.keyboard keyboard@internal:keyboard")
    assert Action.KNOWN_GOOD_MACHINE not in {step.action for step in steps(found)}
