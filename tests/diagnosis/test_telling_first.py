"""A measurement after which the same other part is named, whatever it shows, tells nothing.

Common practice, no source: nobody opens a machine to measure its jack for the fan's sake.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.wording import telling_first
from livecheck.records import Complaint, NextStep, Part, PredictedOutcome
from tests.diagnosis.story import BATTERY, DRIVE, Story, done, spare

HERE = cast(
    Any,
    SimpleNamespace(
        graph=SimpleNamespace(components=(SimpleNamespace(id="jack:AC", name="power jack"),))
    ),
)


def _step(action: Action, *means: str) -> NextStep:
    outcomes = tuple(
        PredictedOutcome(result=str(n), probability=0.5, means=words)
        for n, words in enumerate(means)
    )
    return NextStep(action=action, target="jack:AC", minutes=3.0, why="", outcomes=outcomes)


def test_what_names_the_same_other_waits_behind_the_rest() -> None:
    soak = _step(Action.SOAK, "most likely cooling, 40 %", "most likely no fault, 39 %")
    vain = _step(Action.MEASURE, "most likely cooling, 34 %", "most likely cooling, 27 %")
    assert telling_first(HERE, (vain, soak)) == (soak, vain)


def test_what_tells_apart_or_proves_what_is_measured_keeps_its_turn() -> None:
    soak = _step(Action.SOAK, "most likely cooling, 40 %", "most likely no fault, 39 %")
    apart = _step(Action.MEASURE, "most likely cooling, 34 %", "most likely power jack, 39 %")
    own = _step(Action.MEASURE, "most likely power jack, 66 %", "most likely power jack, 97 %")
    for first in (apart, own):
        assert telling_first(HERE, (first, soak)) == (first, soak)


@pytest.mark.parametrize(
    ("part", "checks", "back"),
    [
        (BATTERY, ("power.battery-wear",), False),
        # Its count of a whole life is a finding; that its link fails is not.
        (DRIVE, ("storage.link-history", "kernel.storage-link", "storage.link-errors"), True),
    ],
)
def test_what_is_worn_tells_no_more_put_back(
    part: Part, checks: tuple[str, ...], back: bool
) -> None:
    story = Story(Complaint.UNSTABLE)
    story.run(*(f"{check} {part.id}" for check in checks))
    story.fit(spare(part.kind, part.place or ""))
    story.run()
    found = story.locate()
    assert ((Action.PUT_BACK, part.id) in done(found)) is back
