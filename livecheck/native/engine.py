"""Drives the march kernel over a region with every core, and keeps the score.

All workers take chunks from one list in address order and meet at the end of
each element, so the order the test prescribes holds but for a window of one
chunk a core. The interpreter lock is free while the kernel works.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Iterator, Sequence

from . import _march
from .backgrounds import LINE
from .messages import Pass, WrongWord
from .notation import Element, Order
from .region import Chunk, Region

POLL = 0.1
"""Seconds between looks at the stop request, the memory pressure and the progress."""

KEPT = 4096
"""Wrong words kept one by one; beyond, they are only counted."""


class Tally:
    """What a run has done and found so far; shared by the workers."""

    def __init__(self) -> None:
        self.started = time.monotonic()
        self.lock = threading.Lock()
        self.wrong: list[WrongWord] = []
        self.wrong_words = 0
        self.line_ops = 0
        """Operations times lines done."""
        self.elements_done = 0
        self.passes: list[str] = []
        """Passes finished over the whole region, as "test, background"."""
        self.given_back = 0
        """Bytes given back to the system during the run."""

    @property
    def bytes_moved(self) -> int:
        return self.line_ops * LINE

    def add(self, line_ops: int, wrong_words: int, wrong: Sequence[WrongWord]) -> None:
        with self.lock:
            self.line_ops += line_ops
            self.wrong_words += wrong_words
            self.wrong.extend(wrong[: KEPT - len(self.wrong)])


Watch = Callable[[Tally], bool]
"""Called every POLL seconds and after each element, from the calling thread; True asks to stop."""


def op_codes(element: Element) -> bytes:
    """The element's operations in the kernel's coding."""
    return bytes(op.bit | op.write << 1 for op in element.ops)


def descends(element: Element, any_order: Order) -> bool:
    order = any_order if element.order is Order.ANY else element.order
    return order is Order.DOWN


def run_pass(region: Region, todo: Pass, cpus: Sequence[int], tally: Tally, watch: Watch) -> bool:
    """Run one pass; False when it was stopped before the end. The tally is always right.

    KeyboardInterrupt ends the workers within a chunk and is raised again.
    """
    for number, element in enumerate(todo.test.elements):
        chunks = region.chunks(descends(element, todo.any_order))
        work = _Work(todo, number, tally, chunks, len(cpus))
        if not _run_element(work, cpus, watch):
            return False
        tally.elements_done += 1
        # Short elements are over before the first look.
        if watch(tally) and number + 1 < len(todo.test.elements):
            return False
    tally.passes.append(todo.title)
    return True


def _run_element(work: _Work, cpus: Sequence[int], watch: Watch) -> bool:
    threads = [
        threading.Thread(target=work.loop, args=(cpu,), name=f"march-{cpu}", daemon=True)
        for cpu in cpus
    ]
    for thread in threads:
        thread.start()
    stopped = False
    try:
        while not stopped and not work.finished.wait(POLL):
            stopped = watch(work.tally)
    finally:
        work.stop.set()
        for thread in threads:
            thread.join()
    if work.error is not None:
        raise work.error
    return work.complete


class _Work:
    """One element being run by several workers."""

    def __init__(
        self, todo: Pass, number: int, tally: Tally, chunks: Sequence[Chunk], workers: int
    ) -> None:
        self.todo, self.number, self.tally = todo, number, tally
        element = todo.test.elements[number]
        self.codes = op_codes(element)
        self.words = todo.background.packed()
        self.down = descends(element, todo.any_order)
        self.stop = threading.Event()
        self.finished = threading.Event()
        self.complete = False
        self.error: Exception | None = None
        self._chunks: Iterator[Chunk] = iter(chunks)
        self._workers = workers

    def loop(self, cpu: int) -> None:
        """Take chunks until there are none; a list iterator hands each out once."""
        try:
            pinned = pin(cpu)
            while not self.stop.is_set():
                chunk = next(self._chunks, None)
                if chunk is None:
                    self.complete = True
                    break
                if chunk.block.enter():
                    try:
                        self._one(chunk, cpu if pinned else None)
                    finally:
                        chunk.block.leave()
        except (ValueError, MemoryError) as error:
            self.error = error
            self.stop.set()
        finally:
            with self.tally.lock:
                self._workers -= 1
                last = self._workers == 0
            if last:
                self.finished.set()

    def _one(self, chunk: Chunk, cpu: int | None) -> None:
        block = chunk.block
        count, rows = _march.march(
            block.memory,
            chunk.first,
            chunk.lines,
            self.codes,
            self.down,
            self.todo.background.key,
            self.words,
            seed=self.todo.seed,
            base=block.base,
            kernel=self.todo.kernel,
        )
        seconds = time.monotonic() - self.tally.started
        wrong = [
            WrongWord(
                address=block.address + line * LINE + word * 8,
                expected=expected,
                read=read,
                again=again,
                test=self.todo.test.name,
                background=self.todo.background.name,
                pass_number=self.todo.number,
                element=self.number,
                operation=op,
                cpu=cpu,
                seconds=seconds,
            )
            for line, word, op, expected, read, again in rows
        ]
        self.tally.add(chunk.lines * len(self.codes), count, wrong)


def pin(cpu: int) -> bool:
    """Keep the calling thread on one core; False when that core is not ours to have."""
    try:
        os.sched_setaffinity(0, {cpu})
    except OSError:
        return False
    return True
