"""Finding the places that cannot be read inside a request that failed, with few reads.

Each failed read costs a weak disk seconds of hard work, so the drive is not asked for
every sector: halving finds the first bad one, single steps find the end of a short
stretch exactly, and longer and longer steps find the end of a long one. What lies
inside a long stretch is then counted as unreadable without having been asked for.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from livecheck.records import BadRange

TRIES: Final = 2
"""Times the first bad sector of a stretch is asked for again (assumed; the kernel and the
drive have tried several times each by then)."""
SINGLE_STEPS: Final = 16
"""Sectors after the first bad one that are asked for one by one."""

Read = Callable[[int, int], bool]
"""Whether (offset, bytes) can be read. May raise to end the search."""


def bisect(read: Read, start: int, end: int, sector: int, add: Callable[[BadRange], None]) -> None:
    """Hand ``add`` every stretch of a request that cannot be read, in order.

    The request from ``start`` to ``end`` has just failed as a whole; both are multiples of
    ``sector``. Stretches begin and end on sectors.
    """
    while start < end:
        first = _first_bad(read, start, end, sector)
        tries = _again(read, first, sector)
        if tries is not None:
            add(BadRange(offset=first, bytes=sector, tries=tries, recovered=True))
            start = first + sector
        else:
            start = _end_of_bad(read, first, end, sector)
            add(BadRange(offset=first, bytes=start - first, tries=1 + TRIES))
        if start < end and read(start, end - start):
            return


def _first_bad(read: Read, start: int, end: int, sector: int) -> int:
    """Offset of the first sector that fails; some part of the stretch is known to."""
    while end - start > sector:
        middle = start + (end - start) // sector // 2 * sector
        if read(start, middle - start):
            start = middle
        else:
            end = middle
    return start


def _again(read: Read, offset: int, sector: int) -> int | None:
    """Number of the try that succeeded, counted from 2; None: none did."""
    return next((n + 2 for n in range(TRIES) if read(offset, sector)), None)


def _end_of_bad(read: Read, first: int, end: int, sector: int) -> int:
    """Offset behind the stretch of bad sectors that begins at ``first``."""
    bad = first + sector
    for _ in range(SINGLE_STEPS):
        if bad >= end or read(bad, sector):
            return min(bad, end)
        bad += sector
    step = 2 * sector
    while bad < end:
        probed = min(bad + step, end - sector)
        if read(probed, sector):
            return _edge(read, bad, probed, sector)
        bad = probed + sector
        step *= 2
    return end


def _edge(read: Read, bad: int, good: int, sector: int) -> int:
    """First good sector between the end of what is bad and one that is good."""
    while bad < good:
        middle = bad + (good - bad) // sector // 2 * sector
        if read(middle, sector):
            good = middle
        else:
            bad = middle + sector
    return good
