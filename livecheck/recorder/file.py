"""The record's file: flushed each second, kind to flash, never larger than it may be.

Room is set aside a stretch at a time and filled with line ends, so that the flush of a
second writes one block of data and not the file system's tables each time. When a segment
is full it becomes the older one, and the one before that goes.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path
from typing import Final

from livecheck.casefile import atomic
from livecheck.recorder.lines import FILE, OLDER

SEGMENT_BYTES: Final = 4 << 20
"""Two of these are the most a record takes; one is some hours of a laptop's meters."""
ROOM_BYTES: Final = 64 << 10
"""Set aside at a time."""


class RecordFile:
    """One record being written. Every method raises OSError when the drive refuses."""

    def __init__(self, folder: Path, header: bytes, segment_bytes: int = SEGMENT_BYTES) -> None:
        self.folder = folder
        self.written = 0
        """Bytes of lines, room not counted."""
        self._header = header
        self._most = segment_bytes
        self._descriptor = -1
        self._open()

    def append(self, lines: bytes) -> None:
        """Write whole lines and wait until the drive has them."""
        if self._end + len(lines) > self._most:
            self._turn()
        self._put(lines)
        os.fdatasync(self._descriptor)

    def move(self, folder: Path) -> None:
        """Go on in another folder of the same drive."""
        for name in (OLDER, FILE):
            with contextlib.suppress(FileNotFoundError):
                atomic.move(self.folder / name, folder / name)
        left, self.folder = self.folder, folder
        with contextlib.suppress(OSError):
            left.rmdir()

    def close(self) -> None:
        """Give back the room that was not used."""
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
