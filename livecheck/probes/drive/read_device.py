"""Timed reads of one drive in a thread of their own, so that one that hangs can be left.

A read that the kernel never finishes cannot be called back; what waits for it gives
it up after its deadline and leaves the thread behind.
"""

from __future__ import annotations

import contextlib
import mmap
import os
import queue
import threading
import time
from collections.abc import Callable
from typing import Final

from livecheck.probes.drive.read_plan import SEQUENTIAL_BYTES
from livecheck.records import Record

ReadInto = Callable[[memoryview, int], int]
"""Fill a buffer from an offset; returns the bytes read. Raises OSError."""

DEPTH: Final = 2
"""Requests handed over ahead, so that the drive never waits for the program."""


class Answer(Record, frozen=True, kw_only=True):
    """What came of one request."""

    offset: int
    size: int
    seconds: float
    errno: int | None = None
    """None: read whole. 0: the drive gave less than asked for."""


def direct(descriptor: int) -> ReadInto:
    """Reads of an open descriptor; O_DIRECT wants aligned buffers, which mmap's are."""

    def read(buffer: memoryview, offset: int) -> int:
        return os.preadv(descriptor, [buffer], offset)

    return read


class Reader:
    """Hands requests to the reading thread and takes its answers."""

    def __init__(self, read: ReadInto) -> None:
        self._read = read
        self._buffer = mmap.mmap(-1, SEQUENTIAL_BYTES)
        self._requests: queue.SimpleQueue[tuple[int, int] | None] = queue.SimpleQueue()
        self._answers: queue.SimpleQueue[Answer] = queue.SimpleQueue()
        self.waiting = 0
        """Requests handed over and not yet answered."""
        threading.Thread(target=self._work, daemon=True, name="reader").start()

    def submit(self, offset: int, size: int) -> None:
        """Hand over a request of at most SEQUENTIAL_BYTES."""
        self.waiting += 1
        self._requests.put((offset, size))

    def answer(self, deadline: float) -> Answer | None:
        """The next answer; None when none came in ``deadline`` seconds."""
        try:
            found = self._answers.get(timeout=deadline)
        except queue.Empty:
            return None
        self.waiting -= 1
        return found

    def close(self) -> None:
        """Let the thread end, once it comes back."""
        self._requests.put(None)

    def _work(self) -> None:
        view = memoryview(self._buffer)
        while (request := self._requests.get()) is not None:
            self._answers.put(self._one(view, *request))
        view.release()
        with contextlib.suppress(BufferError):
            self._buffer.close()

    def _one(self, view: memoryview, offset: int, size: int) -> Answer:
        begun = time.monotonic()
        errno: int | None = None
        try:
            if self._read(view[:size], offset) != size:
                errno = 0
        except OSError as error:
            errno = error.errno or 5
        seconds = time.monotonic() - begun
        return Answer(offset=offset, size=size, seconds=seconds, errno=errno)
