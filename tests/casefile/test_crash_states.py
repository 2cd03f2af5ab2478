"""Power cuts replayed from a log of writes: the replay itself, and some states of each kind.

The thousand: ``python -m tests.casefile.crash_states`` (figures in ``crash_figures.json``).
"""

from __future__ import annotations

import random
import shutil
import struct

import pytest

from tests.casefile.crash_states import DAEMON, DISCARD, FLUSH, MAKE, SECTOR, UML, campaign, entries
from tests.casefile.crash_states import state as crashed

BASE = bytes(8 * SECTOR)


def _log(*rows: tuple[int, int, bytes]) -> bytes:
    """Flags, sector and data of each entry (drivers/md/dm-log-writes.c)."""
    whole = bytes(SECTOR)
    for flags, sector, data in rows:
        head = struct.pack("<QQQQ", sector, len(data) // SECTOR, flags, 0)
        whole += head.ljust(SECTOR, b"\0") + data
    return whole


def _sector(letter: str) -> bytes:
    return letter.encode() * SECTOR


def test_what_was_flushed_is_there_and_what_came_later_may_be() -> None:
    """In any order: the later of two writes to one place may have come first."""
    rows = [(0, 1, _sector("a")), (FLUSH, 0, b""), (0, 1, _sector("b")), (0, 2, _sector("c")),
            (DISCARD, 3, b"")]  # fmt: skip
    log = list(entries(_log(*rows)))
    assert [one.flags for one in log] == [0, FLUSH, 0, 0, DISCARD]
    seen = {
        crashed(BASE, log, 3, random.Random(n))[SECTOR : 3 * SECTOR : SECTOR] for n in range(99)
    }
    assert seen == {b"a\0", b"b\0", b"ac", b"bc"}
    assert crashed(BASE, log, 1, random.Random(1))[SECTOR : 2 * SECTOR] == _sector("a")


def test_a_write_may_be_torn() -> None:
    log = list(entries(_log((0, 0, _sector("a") * 8))))
    torn = {crashed(BASE, log, 0, random.Random(n))[::SECTOR] for n in range(200)}
    assert {b"a" * 8, bytes(8)} < torn


@pytest.mark.slow
@pytest.mark.parametrize("fs", sorted(MAKE))
def test_nothing_that_was_reported_saved_is_lost_in_a_power_cut(fs: str) -> None:
    if shutil.which(UML) is None or shutil.which(DAEMON) is None:
        pytest.skip("needs a kernel in user mode and QEMU's storage daemon")
    verdict = campaign(fs, states=25, seed=4)
    assert (verdict.lost, verdict.damaged) == ([], [])
    assert verdict.flushes > 100
    assert verdict.reported > 100
