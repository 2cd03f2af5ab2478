"""What forty machines that walked in taught the engine; common practice of the trade, no source."""

from __future__ import annotations

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Complaint
from tests.diagnosis.story import DIMM_A, Story, part, steps

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
