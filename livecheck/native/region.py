"""The memory under test: anonymous blocks taken from the system and given back.

Memory is taken one block at a time, locked where that is allowed, and the
caller is asked before each block whether there is still room. A block can be
given back while a test runs, as soon as no worker is inside it.
"""

from __future__ import annotations

import errno
import mmap
import threading
from collections.abc import Callable, Iterator
from typing import NamedTuple

import msgspec

from . import _march
from .backgrounds import LINE

CHUNK = 16 << 20
"""Bytes handed to the kernel at a time: a few milliseconds of plain reads and
writes, and under a tenth of a second for elements that wait for every write."""

_PER_CHUNK = CHUNK // LINE


class Chunk(NamedTuple):
    """Some lines of one block."""

    block: Block
    first: int
    lines: int


class Block:
    """One mapping. ``base`` is its first line counted over the whole region."""

    def __init__(self, memory: mmap.mmap, base: int, locked: bool) -> None:
        self.memory = memory
        self.base = base
        self.locked = locked
        self.lines = len(memory) // LINE
        self.address = _march.address(memory)
        self._users = 0
        self._dropped = False
        self._changed = threading.Condition()

    def __len__(self) -> int:
        return len(self.memory)

    def enter(self) -> bool:
        """Claim the block for a worker; False when it is being given back."""
        with self._changed:
            if self._dropped:
                return False
            self._users += 1
            return True

    def leave(self) -> None:
        with self._changed:
            self._users -= 1
            self._changed.notify_all()

    def close(self) -> None:
        """Wait for the workers inside, then give the memory back."""
        with self._changed:
            self._dropped = True
            self._changed.wait_for(lambda: self._users == 0)
        self.memory.close()

    def chunks(self) -> Iterator[Chunk]:
        for first in range(0, self.lines, _PER_CHUNK):
            yield Chunk(self, first, min(_PER_CHUNK, self.lines - first))


class Region:
    """The blocks held, in the order they were taken."""

    def __init__(self) -> None:
        self.blocks: list[Block] = []
        self.refusal: str | None = None
        """Why it could not be locked or did not grow further; None while neither happened."""

    def __len__(self) -> int:
        return sum(map(len, self.blocks))

    @property
    def locked(self) -> bool:
        return bool(self.blocks) and all(block.locked for block in self.blocks)

    def grow(self, size: int, *, lock: bool = True) -> bool:
        """Take ``size`` bytes more; False, with ``refusal`` set, when there are none.

        A refused lock is no refusal of the memory: the block is kept unlocked.
        """
        try:
            memory = mmap.mmap(-1, size, mmap.MAP_PRIVATE | mmap.MAP_ANONYMOUS)
        except OSError as error:
            self.refusal = f"no more memory to be had: {error.strerror}"
            return False
        for advice in (mmap.MADV_HUGEPAGE, mmap.MADV_DONTFORK, mmap.MADV_DONTDUMP):
            _advise(memory, advice)
        locked = lock and self._lock(memory)
        base = sum(block.lines for block in self.blocks)
        self.blocks.append(Block(memory, base, locked))
        return True

    def _lock(self, memory: mmap.mmap) -> bool:
        try:
            _march.lock(memory)
        except OSError as error:
            if error.errno not in {errno.EPERM, errno.ENOMEM, errno.EAGAIN}:
                raise
            self.refusal = f"could not be locked: {error.strerror}"
            return False
        return True

    def drop(self) -> int:
        """Give the newest block back; how many bytes that was, 0 when there is none left."""
        if not self.blocks:
            return 0
        block = self.blocks.pop()
        block.close()
        return block.lines * LINE

    def close(self) -> None:
        while self.drop():
            pass

    def chunks(self, down: bool) -> list[Chunk]:
        """All chunks in address order, or against it."""
        chunks = [chunk for block in self.blocks for chunk in block.chunks()]
        return chunks[::-1] if down else chunks

    def block_at(self, address: int) -> Block | None:
        for block in self.blocks:
            if block.address <= address < block.address + block.lines * LINE:
                return block
        return None


def _advise(memory: mmap.mmap, advice: int) -> None:
    """Advice only: a kernel built without the feature answers EINVAL, and that is fine."""
    try:
        memory.madvise(advice)
    except OSError as error:
        if error.errno != errno.EINVAL:
            raise


class Budget(msgspec.Struct, frozen=True):
    """How much to take, and what must be left for everybody else. In bytes."""

    wanted: int
    reserve: int
    block: int = 256 << 20


def take(
    region: Region,
    budget: Budget,
    available: Callable[[], int],
    stop: Callable[[], bool] = lambda: False,
) -> None:
    """Grow the region towards the budget, asking ``available`` before every block.

    Stops when the next block would eat into the reserve. Once a lock was
    refused it takes no more: unlocked memory may be swapped out under the test.
    """
    while len(region) < budget.wanted and not stop():
        room = available() - budget.reserve
        size = min(budget.block, budget.wanted - len(region), room) // mmap.PAGESIZE * mmap.PAGESIZE
        if size <= 0:
            region.refusal = region.refusal or "the rest is in use or kept free for the system"
            return
        if not region.grow(size) or not region.blocks[-1].locked:
            return
