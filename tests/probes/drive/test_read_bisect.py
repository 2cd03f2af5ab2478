"""The search for unreadable places against a drive whose bad sectors are known.

The outside source is the drive itself, made of a set of bad sectors: what the search
says is compared with that set, sector by sector.
"""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck.probes.drive.read_bisect import SINGLE_STEPS, TRIES, bisect
from livecheck.records import BadRange

SECTOR = 512


def _search(bad: set[int], sectors: int) -> tuple[list[BadRange], int]:
    """What is found in a failed request of so many sectors, and how many reads failed."""
    found: list[BadRange] = []
    failed = 0

    def read(offset: int, size: int) -> bool:
        nonlocal failed
        assert offset % SECTOR == 0
        assert size > 0
        assert size % SECTOR == 0
        good = bad.isdisjoint(range(offset // SECTOR, (offset + size) // SECTOR))
        failed += not good
        return good

    bisect(read, 0, sectors * SECTOR, SECTOR, found.append)
    return found, failed


def _sectors(found: list[BadRange]) -> set[int]:
    return {
        sector
        for one in found
        for sector in range(one.offset // SECTOR, (one.offset + one.bytes) // SECTOR)
    }


@settings(max_examples=300)
@given(st.integers(1, 8192), st.data())
def test_one_stretch_is_found_exactly(sectors: int, data: st.DataObject) -> None:
    """Any unbroken stretch in any request, to the sector, with few failing reads."""
    first = data.draw(st.integers(0, sectors - 1))
    length = data.draw(st.integers(1, sectors - first))
    found, failed = _search(set(range(first, first + length)), sectors)
    assert [(one.offset, one.bytes) for one in found] == [(first * SECTOR, length * SECTOR)]
    assert found[0].tries == 1 + TRIES
    # Halving 8192 sectors takes 13 steps; longer and longer steps and their edge as many again.
    assert failed <= 13 + TRIES + SINGLE_STEPS + 2 * 13


@settings(max_examples=300)
@given(st.integers(1, 300), st.data())
def test_no_bad_sector_is_missed(sectors: int, data: st.DataObject) -> None:
    """Whatever the pattern, every bad sector lies in a range, and ranges begin at bad ones."""
    bad = data.draw(st.sets(st.integers(0, sectors - 1), min_size=1))
    found, _ = _search(bad, sectors)
    assert bad <= _sectors(found)
    assert all(one.offset // SECTOR in bad for one in found)


@settings(max_examples=300)
@given(st.integers(2, 2000), st.data())
def test_short_stretches_are_exact(sectors: int, data: st.DataObject) -> None:
    """Stretches no longer than the single steps have no sector too many."""
    starts = data.draw(st.sets(st.integers(0, sectors - 1), min_size=1, max_size=3))
    bad = {
        sector
        for start in starts
        for sector in range(start, start + data.draw(st.integers(1, 5)))
        if sector < sectors
    }
    found, _ = _search(bad, sectors)
    assert _sectors(found) == bad


def test_a_sector_that_comes_at_the_second_try_is_weak_and_not_bad() -> None:
    """A place that fails, fails when asked again, and then reads is told as that, not as lost."""
    fails = {7: 1}
    found: list[BadRange] = []

    def read(offset: int, size: int) -> bool:
        for sector in range(offset // SECTOR, (offset + size) // SECTOR):
            # Only a read of the sector alone counts as asking for it.
            if fails.get(sector, 0) > 0:
                fails[sector] -= size == SECTOR
                return False
        return True

    bisect(read, 0, 64 * SECTOR, SECTOR, found.append)
    (only,) = found
    assert (only.offset, only.bytes, only.recovered) == (7 * SECTOR, SECTOR, True)
