"""Visits are the same for the same seed, of the stated kinds, and played to an end."""

from __future__ import annotations

from collections import Counter

import pytest

from livecheck.knowledge import load
from tests.simulation.visits.arrival import arrive
from tests.simulation.visits.scores import row, scores
from tests.simulation.visits.visit import play

pytestmark = pytest.mark.slow
FIXED = (503, 505, 515)
"""A dead card, a worn button and a drive whose medium is worn."""


def test_the_population_is_of_the_stated_kinds() -> None:
    arrived = [arrive(seed) for seed in range(1500)]
    found = [() if one.causes == one.worn else one.causes for one in arrived]
    kinds = Counter(one[0].name.split(":")[0] if one else "" for one in found)
    assert 0.08 <= kinds[""] / len(found) <= 0.10
    assert 0.12 <= kinds["system"] / len(found) <= 0.18
    assert 0.06 <= sum(len(one) > 1 for one in found) / len(found) <= 0.13
    assert len({cause.name for one in found for cause in one}) >= 40


def test_three_visits_are_played_to_their_end() -> None:
    tables = load()
    rows = [row(play(seed, tables)) for seed in FIXED]
    assert [one["right"] for one in rows] == [True, True, True]
    assert scores(rows)["any_wrong_order"] == 0
    assert row(play(FIXED[2], tables)) == rows[2]


@pytest.mark.parametrize(
    ("seed", "right"),
    [
        # The firmware was written anew, and is no part to order.
        (4040000002, False),
        # An adapter without a number is known again in the known-good machine.
        (4040000043, True),
        # A new drive is not the silent one that it takes the place of.
        (4040000066, True),
    ],
)
def test_nothing_is_proposed_for_ever(seed: int, right: bool) -> None:
    one = row(play(seed, load()))
    assert (one["right"], one["again"]) == (right, 0)
    assert one["steps"] < 10
    assert "firmware" not in {unit for unit, *_ in one["orders"]}
