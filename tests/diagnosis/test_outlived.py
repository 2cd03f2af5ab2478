"""A part that was bought and passes: the repair is seen, and nothing is ordered on it any more.

What a technician would do is common practice, no source: he hands back what works with the new
part in, and takes his own spare out first.
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck.records import Complaint, Location, Outcome, PartIs, Reading
from tests.diagnosis.story import Story, plain

KEYS = plain("keyboard", "internal:keyboard")
FAILS = f"guided.keyboard {KEYS.id}"
NEW = PartIs(place="internal:keyboard", name="new part")


def _then(told: PartIs | None, *failed: str) -> Location:
    story = Story(Complaint.PART_MISSING)
    story.fit(KEYS)
    story.run(FAILS)
    story.run(*failed, told=(told,) if told is not None else ())
    if not failed:
        passed = Reading(check="guided.keyboard", at=KEYS.id, outcome=Outcome.PASSED)
        last = story.runs[-1]
        story.runs[-1] = msgspec.structs.replace(last, readings=(*last.readings, passed))
    return story.locate()


def test_a_bought_part_that_passes_names_the_one_that_is_out() -> None:
    found = _then(NEW)
    assert found.unit == "keyboard"
    assert 0.6 <= found.probability < 0.95


@pytest.mark.parametrize(
    ("told", "failed"),
    [
        (PartIs(place="internal:keyboard", name="spare", known_good=True), ()),
        (None, ()),
        (NEW, (FAILS,)),
    ],
    ids=["the shop's own", "nothing told", "it fails as well"],
)
def test_what_is_lent_or_untold_or_fails_waits_for_more(
    told: PartIs | None, failed: tuple[str, ...]
) -> None:
    found = _then(told, *failed)
    assert found.unit is None or found.probability >= 0.9
