"""What the machine can do by itself is proposed where the counter was told of it, once."""

from __future__ import annotations

import pytest

from livecheck import knowledge
from livecheck.casefile import Loaded
from livecheck.diagnosis.steps.actions import Action
from livecheck.judgement import locate_case
from livecheck.records import Complaint, Reading, Run, ToldLine
from livecheck.starts import judged, planned
from tests import factories


def _proposed(told: str, *readings: Reading) -> tuple[str, ...]:
    """Checks of the next step of a machine where nothing failed."""
    run = Run(number=1, started="2026-03-06T12:00:00Z", complaint=Complaint.UNSTABLE,
              inventory=factories.inventory([]), readings=readings)  # fmt: skip
    case = factories.case(told=(ToldLine(about="when", words=told),), complaint=Complaint.UNSTABLE)
    step = locate_case(Loaded(case, (run,), ()), knowledge.load()).next_step
    return step.checks if step is not None and step.action == Action.MEASURE else ()


@pytest.mark.parametrize(
    ("told", "wanted"),
    [("at some starts only", ("starts.warm", "starts.cold")),
     ("in or after sleep", ("sleep.wakes",)),
     ("not at some starts only", ()), ("not after sleep", ()), ("cold", ())],
)  # fmt: skip
def test_it_is_proposed_where_it_was_told(told: str, wanted: tuple[str, ...]) -> None:
    """And not where the customer says that it does not show there."""
    own = [one for one in _proposed(told) if one.split(".")[0] in ("sleep", "starts")]
    assert own == list(wanted)


def test_it_is_proposed_once() -> None:
    """Starts that were counted are not counted again."""
    reading = judged.counted(planned.StartKind.COLD, (0, 0), 5)
    assert not any(one.startswith("starts.") for one in _proposed("at some starts only", reading))
