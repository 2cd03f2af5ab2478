"""What a drive held at any instant: QEMU's log of its writes, replayed.

The log is QEMU's ``blklogwrites``, in the format of the kernel's device-mapper target
(Documentation/admin-guide/device-mapper/log-writes.rst): a sector of head, then for each
operation a sector that says where, how long and of what kind, and the data.

A drive may keep in its own memory what it was not asked to flush, and lose all of that or
any part of it when power goes. So an instant has several states, and each must do.
"""

from __future__ import annotations

import random
import struct
from pathlib import Path
from typing import Final

import msgspec

SECTOR: Final = 512
MAGIC: Final = 0x6A736677736872
FLUSH, FUA, DISCARD = 1, 2, 4
LANDED, DROPPED, MIXED = "all landed", "unflushed dropped", "unflushed mixed"
FATES: Final = (LANDED, DROPPED, MIXED)
"""What became of writes the drive was not asked to flush; mixed: each by the toss of a coin."""


class Write(msgspec.Struct, frozen=True):
    """One operation; ``data`` is where its bytes stand in the log."""

    at: int
    length: int
    data: int
    flush: bool


def count(log: Path) -> int:
    """Operations the log's head speaks of, while it is being written."""
    with log.open("rb") as file:
        head = file.read(32)
    if len(head) < 32:
        return 0
    magic, version, entries, sector = struct.unpack("<QQQI", head[:28])
    assert (magic, version, sector) == (MAGIC, 1, SECTOR), "not a log of writes"
    return int(entries)


def read(log: Path, most: int) -> list[Write]:
    """The first operations of a log, in the order in which they were done."""
    found, place = [], SECTOR
    with log.open("rb") as file:
        for _ in range(most):
            file.seek(place)
            first, sectors, flags, _ = struct.unpack("<QQQQ", file.read(32))
            held = 0 if flags & DISCARD else sectors * SECTOR
            found.append(Write(first * SECTOR, held, place + SECTOR, bool(flags & (FLUSH | FUA))))
            place += SECTOR + held
    return found


class Replay:
    """A drive's content at later and later instants; nothing is written to the drive.

    ``span``: where the part that is wanted starts and ends, in bytes; None: all of it.
    """

    def __init__(
        self, image: Path, log: Path, most: int, span: tuple[int, int] | None = None
    ) -> None:
        self._log = log.open("rb")
        self.writes = read(log, most)
        self._first, end = span or (0, image.stat().st_size)
        with image.open("rb") as file:
            file.seek(self._first)
            self._content = bytearray(file.read(end - self._first))
        self._flushed = 0
        """Operations that are in the content: all up to a flush."""

    def unflushed(self, instant: int) -> int:
        """Operations done before this instant and not flushed; moves the content on."""
        durable = max(
            (n + 1 for n in range(self._flushed, instant) if self.writes[n].flush),
            default=self._flushed,
        )
        for write in self.writes[self._flushed : durable]:
            self._put(self._content, write)
        self._flushed = durable
        return sum(1 for write in self.writes[durable:instant] if write.length)

    def state(self, instant: int, fate: str, seed: int, to: Path) -> None:
        """Writes the content of an instant to a file; instants must not go back."""
        self.unflushed(instant)
        content = bytearray(self._content)
        toss = random.Random(seed)
        for write in self.writes[self._flushed : instant]:
            if fate == LANDED or (fate == MIXED and toss.random() < 0.5):
                self._put(content, write)
        to.write_bytes(content)

    def close(self) -> None:
        self._log.close()

    def _put(self, content: bytearray, write: Write) -> None:
        start = max(write.at, self._first)
        end = min(write.at + write.length, self._first + len(content))
        if start < end:
            self._log.seek(write.data + start - write.at)
            content[start - self._first : end - self._first] = self._log.read(end - start)
