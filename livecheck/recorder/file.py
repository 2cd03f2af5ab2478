"""The record's file: flushed each second, kind to flash, never larger than it may be.

Room is set aside a stretch at a time and filled with line ends, so that the flush of a
second writes one block of data and not the file system's tables each time. When a segment
is full it becomes the older one, and the one before that goes. While the drive is pulled,
lines are kept in memory; they follow once it is plugged in again.
"""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path
from typing import Final

from livecheck.casefile import atomic
from livecheck.recorder.lines import FILE, OLDER

SEGMENT_BYTES: Final = 4 << 20
"""Two of these are the most a record takes; one is some hours of a laptop's meters."""
ROOM_BYTES: Final = 64 << 10
"""Set aside at a time."""
AWAY_BYTES: Final = 4 << 20
"""Kept in memory while the drive is away: some hours, too."""
AWAY: Final = frozenset({errno.EIO, errno.ENODEV, errno.ENXIO, errno.ENOENT, errno.ESTALE})
"""What a pulled drive answers, and what the place where it was mounted."""


class RecordFile:
    """One record being written. Every method raises OSError when the drive refuses."""

    def __init__(self, folder: Path, header: bytes, segment_bytes: int = SEGMENT_BYTES) -> None:
        self.folder = folder
        self.written = 0
        """Bytes of lines, room not counted."""
        self._header = header
        self._most = segment_bytes
        self._descriptor = -1
        self._away = b""
        """Lines the drive has not got, as it is pulled."""
        self._open()

    def append(self, lines: bytes) -> None:
        """Write whole lines and wait until the drive has them, or keep them while it is away."""
        lines = self._away + lines
        try:
            if self._away:
                self._again()
            self._away = b""
            if self._end + len(lines) > self._most:
                self._turn()
            self._put(lines)
            os.fdatasync(self._descriptor)
        except OSError as error:
            if error.errno not in AWAY or len(lines) > AWAY_BYTES:
                raise
            self._away = lines

    def move(self, folder: Path) -> None:
        """Go on in another folder of the same drive."""
        with contextlib.suppress(FileNotFoundError):
            atomic.move(self.folder / OLDER, folder / OLDER)
        atomic.move(self.folder / FILE, folder / FILE)
        left, self.folder = self.folder, folder
        with contextlib.suppress(OSError):
            left.rmdir()

    def close(self) -> None:
        """Give back the room that was not used."""
        if self._away:
            raise OSError(errno.ENODEV, "the drive is gone")
        os.ftruncate(self._descriptor, self._end)
        os.fsync(self._descriptor)
        os.close(self._descriptor)
        self._descriptor = -1

    def _open(self) -> None:
        self._descriptor = atomic.create(self.folder / FILE)
        self._end = self._room = 0
        self._put(self._header)
        os.fsync(self._descriptor)
        with atomic.folder(self.folder) as here:
            atomic.sync(here)

    def _again(self) -> None:
        """Go on in the same file, where the drive that holds it is back."""
        fresh = atomic.reopen(self.folder / FILE)
        held = os.pread(fresh, self._most + ROOM_BYTES, 0)
        if not held.startswith(self._header):
            os.close(fresh)
            raise OSError(errno.ENODEV, "another drive is in its place")
        with contextlib.suppress(OSError):
            os.close(self._descriptor)
        self._descriptor = fresh
        self._end = self._room = len(held.rstrip(b"\n\x00")) + 1

    def _put(self, lines: bytes) -> None:
        if self._end + len(lines) > self._room:
            self._pwrite(b"\n" * (len(lines) + ROOM_BYTES), self._end)
            self._room = self._end + len(lines) + ROOM_BYTES
        self._pwrite(lines, self._end)
        self._end += len(lines)
        self.written += len(lines)

    def _pwrite(self, data: bytes, offset: int) -> None:
        view = memoryview(data)
        while view:
            done = os.pwrite(self._descriptor, view, offset)
            offset += done
            view = view[done:]

    def _turn(self) -> None:
        self.close()
        atomic.move(self.folder / FILE, self.folder / OLDER)
        self._open()
