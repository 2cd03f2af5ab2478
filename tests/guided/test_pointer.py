"""A pointing stick, driven by events as the kernel writes them (input-event-codes.h)."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from livecheck.guided import Answered, Event, Skip, Tick, offered
from livecheck.guided.sights import Input
from livecheck.records import Outcome
from tests.guided.support import LAPTOP, TABLE, open_check, walk

LEFT, RIGHT = 0x110, 0x111
HANDS_OFF = (Tick(seconds=0.0), Tick(seconds=3.5))
JUDGE = Answered(value="done")


def moved(code: int, counts: int, at: float) -> Iterator[Event]:
    """A push: one relative event after the other, 20 counts each."""
    step = 20 if counts > 0 else -20
    for n in range(abs(counts) // 20):
        yield Input(seconds=at + n * 0.01, kind=2, code=code, value=step)
        yield Input(seconds=at + n * 0.01, kind=0, code=0, value=0)


def pressed(code: int, at: float) -> Iterator[Event]:
    yield Input(seconds=at, kind=1, code=code, value=1)
    yield Input(seconds=at + 0.1, kind=1, code=code, value=0)


ALL_WAYS = [e for code in (0, 1) for c in (100, -100) for e in moved(code, c, 5.0)]
BOTH = [*pressed(LEFT, 7.0), *pressed(RIGHT, 8.0)]


def test_only_the_pointer_inside_is_offered() -> None:
    """A mouse at a USB port is the technician's own."""
    targets = [o.targets[0] for o in offered(LAPTOP, TABLE) if o.row.name == "pointer"]
    assert [t.device for t in targets] == ["input6"]


def test_all_ways_and_both_buttons_end_it() -> None:
    step = walk(open_check("pointer"), [*HANDS_OFF, *ALL_WAYS, *BOTH])
    assert step.done and step.readings[0].outcome is Outcome.PASSED
    assert (step.readings[0].value, step.readings[0].unit) == (100, "counts")


def test_what_is_open_is_told() -> None:
    step = walk(open_check("pointer"), [*HANDS_OFF, *moved(0, 100, 5.0), *pressed(LEFT, 6.0)])
    assert not step.done
    assert step.lines[-1].endswith("Not felt yet: left, up, down, right button.")


@pytest.mark.parametrize(
    ("events", "fault"),
    [
        ([*ALL_WAYS, *pressed(LEFT, 7.0)], "the right button was not felt"),
        ([*ALL_WAYS[:20], *BOTH], "nothing upwards"),
        ([*ALL_WAYS, *pressed(LEFT, 7.0), next(pressed(RIGHT, 8.0))], "the right button stays"),
        ([], "it gave nothing at all"),
    ],
)
def test_faults_by_name(events: list[Event], fault: str) -> None:
    step = walk(open_check("pointer"), [*HANDS_OFF, *events, JUDGE])
    assert step.done and step.readings[0].outcome is Outcome.FAILED
    assert fault in step.readings[0].says


def test_a_stick_that_pulls_by_itself() -> None:
    """Moved with no hand on it: told even where everything else works."""
    first, last = HANDS_OFF
    step = walk(open_check("pointer"), [first, *moved(0, 40, 1.0), last, *ALL_WAYS, *BOTH])
    assert step.readings[0].outcome is Outcome.FAILED
    assert "moved by itself, 40 counts" in step.readings[0].says


def test_nothing_for_a_while_judges_and_skipping_does_not() -> None:
    idle = walk(open_check("pointer"), [*HANDS_OFF, Tick(seconds=30.0)])
    assert idle.readings[0].outcome is Outcome.FAILED
    skipped = walk(open_check("pointer"), [*HANDS_OFF, Skip(why="no hand free")])
    assert skipped.readings == () and len(skipped.not_tested) == 1
