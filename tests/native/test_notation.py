"""March notation: both spellings, round trips, and refusals."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from livecheck.native.notation import TESTS, MarchTest, NotationError, Order, parse


@st.composite
def march_tests(draw: st.DrawFn, max_ops: int = 5) -> MarchTest:
    """Random valid tests: first a write, then reads of what is held or any write."""
    held = draw(st.integers(0, 1))
    text = [f"any(w{held})"]
    for _ in range(draw(st.integers(1, 5))):
        ops = []
        for write in draw(st.lists(st.booleans(), min_size=1, max_size=max_ops)):
            if write:
                held = draw(st.integers(0, 1))
            ops.append(f"{'w' if write else 'r'}{held}")
        text.append(f"{draw(st.sampled_from(['any', 'up', 'down']))}({','.join(ops)})")
    return parse(";".join(text))


@given(march_tests())
def test_both_spellings_round_trip(test: MarchTest) -> None:
    assert parse(str(test)) == test
    assert parse(test.ascii()) == test


def test_spellings_mix() -> None:
    mixed = parse(" { any( w0 ) ; ↑(r0 ,w1); DOWN(r1,w0) } ")
    assert mixed.elements == TESTS["MATS+"].elements
    assert [element.order for element in mixed.elements] == [Order.ANY, Order.UP, Order.DOWN]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not a march element"),
        ("{up(w0)", "unbalanced"),
        ("sideways(w0)", "unknown address order"),
        ("up(w2)", "not an operation"),
        ("up()", "not an operation"),
        ("up(r0)", "nothing was written"),
        ("up(w0);up(r1)", "where 0 was written"),
        ("up(w0,w1);up(r0)", "where 1 was written"),
        ("up(" + ",".join(["w0"] * 17) + ")", "at most 16"),
    ],
)
def test_refused(text: str, says: str) -> None:
    with pytest.raises(NotationError, match=says):
        parse(text)
