"""The memory test in a process of its own, and the side that follows it.

The process that holds the memory may be killed: by the kernel when memory
runs out (it offers itself first), by a bus error when the hardware says that
a word is lost, by the technician. Whoever follows it keeps the last snapshot,
so what was covered and found is known however it ends.
"""

from __future__ import annotations

import contextlib
import os
import select
import signal
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

import msgspec

from livecheck import framed

from . import _march, pagemap
from .engine import POLL, Tally, run_pass
from .messages import LocatedWord, Pass, Snapshot, WrongWord
from .region import Budget, Region, take

SNAPSHOT_SECONDS: Final = 0.5

TAKING_SHARE: Final = 0.5
"""Taking memory may last this share of the test's time, on top of it."""

Room = Callable[[], int]
"""Bytes that can be had without hurting the system, asked anew each time."""


class Job(msgspec.Struct, frozen=True, kw_only=True):
    """What the worker is to do."""

    passes: tuple[Pass, ...]
    budget: Budget
    cpus: tuple[int, ...]
    seconds: float
    """It ends after testing this long, passes left or not."""
    repeat: bool = False
    """Begin again with new seeds until the time is over."""


class Follower:
    """The parent's side. Use as a context manager: leaving it ends the worker."""

    def __init__(self, job: Job, room: Room) -> None:
        self.last = Snapshot()
        self.status: int | None = None
        """Exit status once it ended; negative: the signal that killed it."""
        parent = os.getpid()
        self._pipe, child_end = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            os.close(self._pipe)
            _main(job, room, child_end, parent)
        os.close(child_end)
        os.set_blocking(self._pipe, False)
        self._joiner = framed.Joiner()

    def __enter__(self) -> Follower:
        return self

    def __exit__(self, *_: object) -> None:
        if self.status is None:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self.pid, signal.SIGKILL)
            self._reap()
        os.close(self._pipe)

    def stop(self) -> None:
        """Ask it to stop; its last snapshot follows within a tenth of a second or so."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGTERM)

    def follow(self, tick: float = 0.25) -> Iterator[Snapshot | None]:
        """Snapshots as they come, and None at least every ``tick`` seconds, until it ends."""
        while True:
            readable, _, _ = select.select([self._pipe], [], [], tick)
            if not readable:
                yield None
                continue
            data = os.read(self._pipe, 1 << 20)
            if not data:
                self._reap()
                return
            for body in self._joiner.feed(data):
                self.last = msgspec.msgpack.decode(body, type=Snapshot)
                yield self.last

    def _reap(self) -> None:
        _, status = os.waitpid(self.pid, 0)
        self.status = os.waitstatus_to_exitcode(status)


def _main(job: Job, room: Room, pipe: int, parent: int) -> None:
    """The worker's whole life; never returns."""
    code = 1
    try:
        _Worker(job, room, pipe, parent).run()
        code = 0
    finally:
        os._exit(code)


class _Worker:
    def __init__(self, job: Job, room: Room, pipe: int, parent: int) -> None:
        self.job, self.room, self.pipe, self.parent = job, room, pipe, parent
        self.region = Region()
        self.tally = Tally()
        self.stopped = False
        self.most = 0
        self.now: str | None = None
        self._sent_at = 0.0
        self._looked_at = 0.0
        self._told = 0
        signal.signal(signal.SIGTERM, self._on_stop)
        signal.signal(signal.SIGINT, self._on_stop)
        # First to go if the system runs out of memory all the same; allowed to everybody.
        with contextlib.suppress(OSError):
            Path("/proc/self/oom_score_adj").write_text("1000", encoding="ascii")

    def _on_stop(self, _signal: int, _frame: object) -> None:
        self.stopped = True

    def run(self) -> None:
        take(self.region, self.job.budget, self.room, self._taken_enough)
        self._send()
        self.tally.started = time.monotonic()
        finished = self.most > 0 and self._passes()
        self._send(finished=finished)
        self.region.close()

    def _taken_enough(self) -> bool:
        """Asked before each block: tells how far it is, and ends when it takes too long."""
        if time.monotonic() - self._sent_at > SNAPSHOT_SECONDS:
            self._send()
        slow = time.monotonic() - self.tally.started > self.job.seconds * TAKING_SHARE
        if slow:
            self.region.refusal = "the system hands out memory too slowly to take more"
        return slow or self.stopped or os.getppid() != self.parent

    def _passes(self) -> bool:
        """Run the passes; False when stopped in the middle or nothing is left to test."""
        turn = 0
        while True:
            for todo in self.job.passes:
                number = len(self.tally.passes) + 1
                todo = msgspec.structs.replace(todo, number=number, seed=todo.seed + turn)
                self.now = todo.title
                whole = run_pass(self.region, todo, self.job.cpus, self.tally, self._watch)
                if not self.region.blocks or self.stopped:
                    return False
                if not whole or (self.job.repeat and self._time_over()):
                    return self.job.repeat and bool(self.tally.passes)
            turn += 1
            if not self.job.repeat:
                return True

    def _time_over(self) -> bool:
        return time.monotonic() - self.tally.started > self.job.seconds

    def _over(self) -> bool:
        return self.stopped or os.getppid() != self.parent or self._time_over()

    def _watch(self, tally: Tally) -> bool:
        self._make_room()
        with tally.lock:
            news = len(tally.wrong) > self._told
        if news or time.monotonic() - self._sent_at > SNAPSHOT_SECONDS:
            self._send()
        return self._over() or not self.region.blocks

    def _make_room(self) -> None:
        """Others need memory: give back until half the reserve is free again."""
        if time.monotonic() - self._looked_at < POLL:
            return
        self._looked_at = time.monotonic()
        while self.region.blocks and self.room() < self.job.budget.reserve // 2:
            self.tally.given_back += self.region.drop()

    def _send(self, *, finished: bool = False) -> None:
        self.most = max(self.most, len(self.region))
        with self.tally.lock:
            fresh = self.tally.wrong[self._told :]
            self._told += len(fresh)
        snapshot = Snapshot(
            held=len(self.region),
            most=self.most,
            given_back=self.tally.given_back,
            locked=self.region.locked,
            refusal=self.region.refusal,
            moved=self.tally.bytes_moved,
            wrong_words=self.tally.wrong_words,
            found=tuple(map(self._place, fresh)),
            passes=tuple(self.tally.passes),
            now=self.now,
            kernel=_march.kernels()[-1],
            seconds=time.monotonic() - self.tally.started,
            finished=finished,
        )
        self._sent_at = time.monotonic()
        framed.send(self.pipe, msgspec.msgpack.encode(snapshot))

    def _place(self, wrong: WrongWord) -> LocatedWord:
        block = self.region.block_at(wrong.address)
        base = block.base * 64 if block else 0
        offset = base + wrong.address - (block.address if block else 0)
        return LocatedWord(wrong=wrong, physical=pagemap.physical(wrong.address), offset=offset)
