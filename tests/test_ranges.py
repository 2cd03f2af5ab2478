"""Ranges as typed: sizes by SI and IEC 80000-13, ends, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from livecheck.commands import ranges
from livecheck.commands.common import UsageError


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        # SI: powers of 1000; IEC 80000-13: powers of 1024.
        ("0-10GiB", (0, 10 * 2**30)),
        ("1.5TB-2TB", (1_500_000_000_000, 2_000_000_000_000)),
        ("4096-8192", (4096, 8192)),
        ("500 gb-", (500 * 10**9, ranges.BEYOND)),
        ("-64KiB", (0, 65536)),
    ],
)
def test_ranges_are_read(words: str, expected: tuple[int, int]) -> None:
    """Start, and the byte after the end."""
    found = ranges.span(words, "sda")
    assert (found.start, found.end, found.drive) == (*expected, "sda")


@pytest.mark.parametrize("words", ["10GiB", "5-5", "9-8", "x-y", "1furlong-2", "1e3-2e3", ""])
def test_nonsense_is_refused(words: str) -> None:
    """Wrong usage says what a range looks like."""
    with pytest.raises(UsageError):
        ranges.span(words, None)


@given(st.text(max_size=20))
def test_anything_typed_is_a_range_or_wrong_usage(words: str) -> None:
    """No other error comes out, and what comes out is a range."""
    try:
        found = ranges.span(words, None)
    except UsageError:
        return
    assert 0 <= found.start < found.end
