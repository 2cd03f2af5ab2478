"""What forty machines that walked in taught the engine; common practice of the trade, no source."""

from __future__ import annotations

from livecheck import intake
from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Complaint, ToldLine
from tests.diagnosis.story import DIMM_A, Story, part, share, steps, tables

SOLDERED = part("memory-module", "INV-MS", DIMM_A, soldered=True)


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
