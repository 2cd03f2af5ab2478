"""A memory place's label may be wrong, and is then wrong in every run.

EDAC's labels come from the firmware or from a table of boards (Documentation/admin-guide/ras.rst,
from memory): the module that is meant may be another, and then always the one of another place.
Common practice, no source: two modules crossed over tell place from part.
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck.records import Complaint, Location, Part
from tests.diagnosis.story import DIMM_A, DIMM_B, MODULE_A, MODULE_B, Story, spare

ERRORS = "memory.corrected-errors"
LOGGED = "kernel.machine-check machine"


def _odds(found: Location) -> dict[str, float]:
    return {one.component: one.probability for one in found.candidates}


def _crossed() -> Story:
    story = Story(Complaint.UNSTABLE)
    story.run(f"{ERRORS} {MODULE_B.id}", LOGGED)
    story.fit(MODULE_A, DIMM_B)
    story.fit(MODULE_B, DIMM_A)
    return story


def test_errors_that_stay_at_a_label_are_of_the_place() -> None:
    """Neither module was at that label in both runs, nor away from it in both."""
    story = _crossed()
    story.run(f"{ERRORS} {MODULE_A.id}", LOGGED)
    found = story.locate()
    odds = _odds(found)
    assert found.candidates[0].component in (DIMM_B, f"contact:{DIMM_B}")
    assert max(odds.get(MODULE_A.id, 0.0), odds.get(MODULE_B.id, 0.0)) < 0.2
    assert found.unit not in ("memory-module", "mainboard")


def test_errors_that_go_with_a_module_are_the_modules() -> None:
    story = _crossed()
    story.run(f"{ERRORS} {MODULE_B.id}", LOGGED)
    assert story.locate().candidates[0].component == MODULE_B.id


def test_errors_that_outlive_a_module_are_of_its_place_and_not_of_its_neighbour() -> None:
    """The label names the place twice; the other module was never in it."""
    story = Story(Complaint.UNSTABLE)
    story.run(f"{ERRORS} {MODULE_B.id}", LOGGED)
    other = spare("memory-module", DIMM_B)
    story.fit(other)
    story.run(f"{ERRORS} {other.id}", LOGGED)
    found = story.locate()
    assert found.candidates[0].component in (DIMM_B, f"contact:{DIMM_B}")
    assert _odds(found).get(MODULE_A.id, 0.0) < 0.4


@pytest.mark.parametrize("named", [MODULE_A, MODULE_B], ids=lambda one: one.name)
def test_in_one_run_the_label_may_mean_the_other_module(named: Part) -> None:
    story = Story(Complaint.UNSTABLE)
    story.run(f"{ERRORS} {named.id}", LOGGED)
    odds = _odds(story.locate())
    assert min(odds[MODULE_A.id], odds[MODULE_B.id]) > 0.02
    assert max(odds[MODULE_A.id], odds[MODULE_B.id]) > 0.3


def test_what_is_soldered_is_told_to_be() -> None:
    """Nobody can order it, and its name in the list does not say so."""
    told = "is soldered to the mainboard"
    for soldered in (True, False):
        story = Story(Complaint.UNSTABLE)
        for module in (MODULE_A, MODULE_B):
            story.fit(msgspec.structs.replace(module, soldered=soldered))
        for _ in range(2):
            story.run(f"{ERRORS} {MODULE_A.id}", LOGGED)
        found = story.locate()
        assert found.candidates[0].component == MODULE_A.id
        assert any(told in words for words in found.explanation) is soldered
