"""A measurement after which the same other part is named, whatever it shows, tells nothing.

Common practice, no source: nobody opens a machine to measure its jack for the fan's sake.
"""

from __future__ import annotations

from typing import Final

import pytest

from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.prediction import PredictedTest, Sets
from livecheck.diagnosis.steps.scoring import Costs, Scored, score, soonest_first
from livecheck.diagnosis.steps.situation import Move
from livecheck.records import Complaint, Part
from tests.diagnosis.story import BATTERY, DRIVE, Story, done, spare, tables

COOLING, JACK = 0, 1


def _scored(action: Action, belief: Sets, missed: float) -> Scored:
    """A look at the jack, beside which the cooling may be at fault."""
    costs = Costs.__new__(Costs)
    costs.group_of, costs.sure = {COOLING: COOLING, JACK: JACK}, 0.9
    costs.repair, costs.unproven = [30.0, 60.0], [False, False]
    costs.table = tables().bench
    test = PredictedTest(at="jack:AC", misses={JACK: missed}, false_alarm=0.05)
    return score(Move(action=action, target="jack:AC", minutes=3.0, tests=(test,), about=JACK),
                 belief, costs)  # fmt: skip


OPEN: Final = (((COOLING,), 0.5), ((JACK,), 0.1), ((), 0.4))
OWN: Final = (((COOLING,), 0.1), ((JACK,), 0.7), ((), 0.2))


def test_what_names_the_same_other_waits_behind_the_rest() -> None:
    vain = _scored(Action.MEASURE, OPEN, 0.9)
    soak = _scored(Action.SOAK, OPEN, 0.9)
    assert vain.one_answer and not soak.one_answer
    assert sorted((vain, soak), key=soonest_first) == [soak, vain]


@pytest.mark.parametrize(("belief", "missed"), [(OPEN, 0.01), (OWN, 0.6)], ids=["apart", "own"])
def test_what_tells_apart_or_proves_what_is_measured_keeps_its_turn(
    belief: Sets, missed: float
) -> None:
    assert not _scored(Action.MEASURE, belief, missed).one_answer


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
