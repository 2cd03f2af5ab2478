"""A drive whose plug slipped off: nothing is seen at first, and it answers when put in anew.

Common practice, no source: what a reseat brings back had a bad contact; the part is sound.
"""

from __future__ import annotations

import pytest

from livecheck.records import Complaint, Location, Part
from tests.diagnosis.story import CARD, DRIVE, PORT_1, SLOT, Story, share, spare


def _put_in_anew(one: Part, place: str, *, reseated: tuple[str, ...]) -> Location:
    story = Story(Complaint.PART_MISSING)
    story.empty(place)
    story.run()
    story.fit(one, place)
    story.run(reseated=reseated)
    return story.locate()


@pytest.mark.parametrize(("one", "place"), [(DRIVE, PORT_1), (CARD, SLOT)], ids=["drive", "card"])
def test_what_answers_once_it_is_put_in_anew_had_a_bad_contact(one: Part, place: str) -> None:
    found = _put_in_anew(one, place, reseated=(place,))
    assert found.candidates[0].component == f"contact:{place}"
    assert share(found, one.id) < 0.5 * share(found, f"contact:{place}")
    assert any("put in anew" in one.says for one in found.evidence)


def test_a_part_that_was_added_accuses_nothing() -> None:
    found = _put_in_anew(DRIVE, PORT_1, reseated=())
    assert share(found, f"contact:{PORT_1}") < 0.2


def test_a_spare_in_a_place_that_was_empty_accuses_nothing() -> None:
    found = _put_in_anew(spare("drive", PORT_1), PORT_1, reseated=(PORT_1,))
    assert share(found, f"contact:{PORT_1}") < 0.2
