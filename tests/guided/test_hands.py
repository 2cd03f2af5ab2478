"""Keyboard and pads, driven by events as the kernel writes them (event-codes.rst)."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from livecheck.guided import Answered, Event, GuideStep, Keys, Tick, Trace
from livecheck.guided.events import Ranges
from livecheck.guided.sights import Input
from livecheck.records import Outcome
from tests.guided.support import TABLE, open_check, walk

CORE = [k.code for row in TABLE.keys for k in row if k.core]


def stroke(code: int, at: float, held: float = 0.08) -> Iterator[Event]:
    """A key down and up."""
    yield Input(seconds=at, kind=1, code=code, value=1)
    yield Input(seconds=at + held, kind=1, code=code, value=0)


def strokes(codes: list[int]) -> list[Event]:
    return [e for n, code in enumerate(codes) for e in stroke(code, n * 0.2)]


def outcome(step: GuideStep) -> Outcome:
    assert step.done
    return step.readings[0].outcome


def states(step: GuideStep) -> dict[int, str]:
    assert isinstance(step.picture, Keys)
    return {k.code: k.state for k in step.picture.keys}


def test_every_key_pressed_ends_it() -> None:
    """No question is asked when nothing is left over."""
    step = walk(open_check("keyboard"), strokes(CORE))
    assert outcome(step) is Outcome.PASSED
    assert step.readings[0].at == "keyboard@internal:keyboard"


def test_drawing_grows_with_the_keys_seen() -> None:
    """A key every laptop has is drawn open; one it may have comes when it is pressed."""
    guide = open_check("keyboard")
    assert states(guide.start())[30] == "open"
    assert 86 not in states(guide.start())
    step = walk(guide, [*stroke(86, 0.0), Input(seconds=1.0, kind=1, code=30, value=1)])
    assert states(step)[86] == "seen" and states(step)[30] == "down"
    step = guide.feed(Input(seconds=1.5, kind=1, code=148, value=1))
    assert states(step)[148] == "down"


@pytest.mark.parametrize(
    ("answer", "wanted"), [("dead", Outcome.FAILED), ("absent", Outcome.PASSED)]
)
def test_keys_never_seen(answer: str, wanted: Outcome) -> None:
    """Esc three times ends it early; then the technician says what of the rest."""
    missing = [c for c in CORE if c != 63]
    guide = open_check("keyboard")
    step = walk(guide, [*strokes(missing), *strokes([1, 1, 1])])
    assert step.question and "F5" in step.lines[0]
    step = guide.feed(Answered(value=answer))
    assert outcome(step) is wanted
    assert "F5" in " ".join((step.readings[0].says, *step.readings[0].details))


def test_no_key_for_a_while_asks_too() -> None:
    """A keyboard that is dead throughout cannot be ended by a key."""
    guide = open_check("keyboard")
    step = walk(guide, [Tick(seconds=100.0), Tick(seconds=110.0)])
    assert step.question is None
    assert guide.feed(Tick(seconds=120.0)).question


def test_key_that_strikes_twice() -> None:
    """Two strikes 10 ms apart, twice: contact bounce, not a finger."""
    bouncing = [e for at in (50.0, 51.0) for n in (0, 1) for e in stroke(30, at + n * 0.06, 0.05)]
    last = CORE[-1]
    step = walk(open_check("keyboard"), [*strokes(CORE[:-1]), *bouncing, *stroke(last, 60.0)])
    assert outcome(step) is Outcome.FAILED and "A strikes twice" in step.readings[0].says


def test_key_that_stays_down() -> None:
    """Down long after the finger went on."""
    guide = open_check("keyboard")
    stuck = Input(seconds=0.0, kind=1, code=30, value=1)
    others = [e for n, code in enumerate(c for c in CORE if c != 30)
              for e in stroke(code, 1.0 + n * 0.2)]  # fmt: skip
    step = walk(guide, [stuck, *others, Tick(seconds=200.0)])
    assert outcome(step) is Outcome.FAILED and "A stays down" in step.readings[0].says


# --- Pads

SIZE = (1224, 704)


def drag(points: list[tuple[int, int]], begin: float = 0.0) -> Iterator[Event]:
    """One finger by the protocol with slots (multi-touch-protocol.rst, protocol B)."""
    yield Input(seconds=begin, kind=3, code=0x2F, value=0)
    yield Input(seconds=begin, kind=3, code=0x39, value=45)
    for n, (x, y) in enumerate(points):
        at = begin + n * 0.01
        yield Input(seconds=at, kind=3, code=0x35, value=x)
        yield Input(seconds=at, kind=3, code=0x36, value=y)
        yield Input(seconds=at, kind=0, code=0, value=0)
    yield Input(seconds=begin + len(points) * 0.01, kind=3, code=0x39, value=-1)
    yield Input(seconds=begin + len(points) * 0.01, kind=0, code=0, value=0)


def lines(height: int = SIZE[1], rows: int = 12) -> list[Event]:
    """Back and forth over the surface down to ``height``."""
    events: list[Event] = []
    for n in range(rows):
        y = round(n * (height - 1) / (rows - 1))
        events += drag([(x, y) for x in range(0, SIZE[0], 40)], begin=float(n))
    return events


PRESS = [Input(seconds=99.0, kind=1, code=0x110, value=v) for v in (1, 0)]
RANGES = Ranges(number=1, x=(0, SIZE[0]), y=(0, SIZE[1]), multitouch=True)


def test_whole_pad_touched() -> None:
    """Surface and button, and the check ends by itself."""
    step = walk(
        open_check("touchpad"),
        [RANGES, *lines(), *PRESS, Input(seconds=99.1, kind=0, code=0, value=0)],
    )
    assert outcome(step) is Outcome.PASSED


def test_pad_that_is_dead_in_its_lower_part() -> None:
    """The upper half alone: what stays empty is drawn and told."""
    guide = open_check("touchpad")
    step = walk(guide, [RANGES, *lines(SIZE[1] // 2)])
    assert isinstance(step.picture, Trace)
    assert not any(step.picture.cells[-1]) and all(step.picture.cells[0])
    step = guide.feed(Answered(value="done"))
    assert outcome(step) is Outcome.FAILED and "took no touch" in step.readings[0].says


def test_pad_whose_finger_jumps() -> None:
    """Half the pad between two reports of one touch, three times."""
    jumps: list[Event] = []
    for n in range(3):
        jumps += drag([(10, 10), (1200, 10)], begin=20.0 + n)
    step = walk(open_check("touchpad"), [RANGES, *jumps, *lines(), *PRESS,
                                         Input(seconds=99.1, kind=0, code=0, value=0)])  # fmt: skip
    assert outcome(step) is Outcome.FAILED and "jumped 3 times" in step.readings[0].says


def test_two_fingers_are_not_one_that_jumps() -> None:
    """Slots keep them apart."""
    step = walk(open_check("touchpad"), [RANGES])
    guide = open_check("touchpad")
    events: list[Event] = [RANGES]
    for slot, x in ((0, 100), (1, 1100)):
        events += [Input(seconds=0.0, kind=3, code=0x2F, value=slot),
                   Input(seconds=0.0, kind=3, code=0x39, value=slot),
                   Input(seconds=0.0, kind=3, code=0x35, value=x),
                   Input(seconds=0.0, kind=3, code=0x36, value=300)]  # fmt: skip
    events += [Input(seconds=0.0, kind=0, code=0, value=0)] * 5
    walk(guide, [*events, *lines(), *PRESS])
    step = guide.feed(Input(seconds=99.1, kind=0, code=0, value=0))
    assert outcome(step) is Outcome.PASSED


def test_pad_without_axes() -> None:
    """Nothing to judge by is no fault."""
    step = walk(open_check("touchpad"), [Ranges(number=1, x=None, y=None)])
    assert outcome(step) is Outcome.NOT_JUDGED
