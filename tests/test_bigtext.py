"""Large letters: what is drawn is what was said, it fits, and no two letters look alike."""

from __future__ import annotations

import string

from hypothesis import given
from hypothesis import strategies as st

from livecheck import bigtext


def test_every_letter_is_whole_and_its_own() -> None:
    """Five rows of one width each; no two drawings are the same."""
    for char, rows in bigtext.GLYPHS.items():
        assert len(rows) == bigtext.HEIGHT, char
        assert len({len(row) for row in rows}) == 1, char
        assert set("".join(rows)) <= {"#", "."}, char
    assert set(string.ascii_uppercase + string.digits) <= set(bigtext.GLYPHS)
    assert len(set(bigtext.GLYPHS.values())) == len(bigtext.GLYPHS)


@given(st.lists(st.text(max_size=30), max_size=5), st.integers(20, 200), st.integers(5, 60))
def test_it_fits(texts: list[str], cells: int, rows: int) -> None:
    """Whatever is said, no row is wider and no page higher than the room."""
    page = bigtext.page(texts, cells, rows)
    assert len(page) <= rows
    assert all(len(row) <= cells for row in page)
    assert set("".join(page)) <= {bigtext.BLOCK, " "}


def test_scaling_keeps_the_drawing() -> None:
    """Each dot becomes a rectangle of cells."""
    plain, scaled = bigtext.drawn("A9", 1, 1), bigtext.drawn("A9", 3, 2)
    for y, row in enumerate(plain):
        for copy in scaled[2 * y : 2 * y + 2]:
            assert copy == "".join(char * 3 for char in row)
