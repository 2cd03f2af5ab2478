"""A letter is one part, wherever it sits: also of parts that carry no number."""

from __future__ import annotations

from livecheck.names import Names
from livecheck.records import Complaint, PartIs
from livecheck.report.swaptable import swap_table
from tests.diagnosis.story import COOLING, Story, tables


def test_another_part_without_a_number_has_another_letter() -> None:
    """A cooling assembly that was told to be a new one is not the one that failed."""
    story = Story(Complaint.SWITCHES_OFF)
    story.run(f"heat.fan {COOLING}")
    story.run(told=[PartIs(place="cooling", name="new part")])
    names = Names(story.runs, tables())
    table = swap_table(story.runs, story.locate(), names)
    (row,) = (row for row in table.rows if row.place.id == "cooling")
    first, second = row.cells
    assert first.mark != second.mark and second.changed
    assert (first.summary, second.summary) == ("1 of 1 checks failed", "1 check passed")
    (change,) = (one for one in table.changes if one.place.id == "cooling")
    assert first.mark in change.before and second.mark in change.after


def test_the_same_part_keeps_its_letter() -> None:
    """Nothing was exchanged."""
    story = Story(Complaint.SWITCHES_OFF)
    story.run(f"heat.fan {COOLING}")
    story.run()
    table = swap_table(story.runs, story.locate(), Names(story.runs, tables()))
    (row,) = (row for row in table.rows if row.place.id == "cooling")
    assert len({cell.mark for cell in row.cells}) == 1
