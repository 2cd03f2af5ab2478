"""The load in a process of its own, and the side that follows it.

A chip that hangs holds whoever waits for it, and a driver may end the program it serves:
both cost this process and nothing else.
"""

from __future__ import annotations

import contextlib
import os
import select
import signal
import time
from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from livecheck import framed
from livecheck.native import _load

from .compare import difference
from .gl import Driver, Lost, NoGraphics
from .messages import SOFTWARE, Beat, Begun, Broken, Doubted, Message, WrongImage
from .work import GRAIN_SIDE, SIDE, ChipWork, kinds_of

SEEDS: Final = (0x5EED0001, 0xA55A1234)
"""Two patterns, in turn."""
ROUNDS: Final = (32, 1024)
"""Fewest and most, both multiples of 32, which brings each value home (``shaders.COMPUTE``)."""
ENOUGH: Final = 0.03
"""Seconds of work at a time (assumed): the chip works more than it waits, far below what drivers
give one task before they take it for hung (Linux, i915 ``DRM_I915_REQUEST_TIMEOUT``: 20 s)."""
_BLOCK: Final = 64
"""Words that the processor computes in one go (``_load.c``)."""


class ChipFollower:
    """The parent's side. Use as a context manager: leaving it ends the worker."""

    def __init__(self, node: str, spoilt: int = 0) -> None:
        self.status: int | None = None
        """Exit status once it ended; negative: the signal that killed it."""
        self._pipe, child_end = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            os.close(self._pipe)
            _main(node, spoilt, child_end)
        os.close(child_end)
        self._joiner = framed.Joiner()
        self._decoder = msgspec.msgpack.Decoder(Message)

    def __enter__(self) -> ChipFollower:
        return self

    def __exit__(self, *_: object) -> None:
        self.signal(signal.SIGKILL)
        # A process that waits in the kernel for a dead chip cannot be ended: it is left.
        until = time.monotonic() + 1.0
        while not self._reaped() and time.monotonic() < until:
            time.sleep(0.02)
        os.close(self._pipe)

    def signal(self, number: signal.Signals) -> None:
        """SIGSTOP lets it rest, SIGCONT go on."""
        if self.status is None:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self.pid, number)

    def heard(self, tick: float) -> Iterator[Message]:
        """What has come within ``tick`` seconds at the most; ``status`` is set once it ended."""
        if self.status is not None or not select.select([self._pipe], [], [], tick)[0]:
            return
        data = os.read(self._pipe, 1 << 16)
        if not data:
            os.waitid(os.P_PID, self.pid, os.WEXITED | os.WNOWAIT)
            self._reaped()
        for body in self._joiner.feed(data):
            yield self._decoder.decode(body)

    def _reaped(self) -> bool:
        if self.status is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.status = os.waitstatus_to_exitcode(status)
        return self.status is not None


def _main(node: str, spoilt: int, pipe: int) -> None:
    """The worker's whole life; never returns."""
    code = 1
    try:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        try:
            _ChipWorker(node, spoilt, pipe).run()
        except (NoGraphics, Lost) as error:
            _tell(pipe, Broken(says=str(error), lost=isinstance(error, Lost)))
        code = 0
    finally:
        os._exit(code)


def _tell(pipe: int, message: Message) -> None:
    framed.send(pipe, msgspec.msgpack.encode(message))


class _ChipWorker:
    def __init__(self, node: str, spoilt: int, pipe: int) -> None:
        self._node, self._spoilt, self._pipe = node, spoilt, pipe
        self._right: dict[tuple[str, int, int], bytes] = {}

    def run(self) -> None:
        """Until it is ended from outside. Raises NoGraphics, Lost."""
        driver = Driver(self._node)
        begun = Begun(
            renderer=driver.renderer,
            version=".".join(map(str, driver.version)),
            software=driver.software,
        )
        if driver.software and self._node != SOFTWARE:
            _tell(self._pipe, begun)
            return
        grain = _load.values(GRAIN_SIDE * GRAIN_SIDE // _BLOCK, ROUNDS[0], SEEDS[0])
        works = kinds_of(driver, grain)
        _tell(self._pipe, msgspec.structs.replace(begun, kinds=tuple(w.kind for w in works)))
        rounds = {work.kind: _measured(work) for work in works}
        self._load(works, rounds)

    def _load(self, works: Sequence[ChipWork], rounds: dict[str, int]) -> None:
        begun, turn = time.monotonic(), 0
        while True:
            seed = SEEDS[turn % len(SEEDS)]
            for work in works:
                made = work.run(seed, rounds[work.kind], self._spoilt if turn else 0)
                seconds = time.monotonic() - begun
                wrong = self._compared(work, seed, rounds[work.kind], made, seconds)
                _tell(self._pipe, Beat(kind=work.kind, seconds=seconds, wrong=wrong))
            turn += 1

    def _compared(
        self, work: ChipWork, seed: int, rounds: int, made: bytes, seconds: float
    ) -> WrongImage | None:
        key = (work.kind if not work.exact else "", seed if work.exact else 0, rounds)
        if key not in self._right:
            self._right[key] = _words(seed, rounds) if work.exact else made
        wrong = difference(work.kind, seconds, work.row, self._right[key], made)
        if wrong is not None and work.exact and _words(seed, rounds) != self._right[key]:
            _tell(self._pipe, Doubted())
            return None
        return wrong


def _words(seed: int, rounds: int) -> bytes:
    return _load.values(SIDE * SIDE * 4 // _BLOCK, rounds, seed)


def _measured(work: ChipWork) -> int:
    """Rounds that keep the chip busy long enough, doubled until they do."""
    rounds = ROUNDS[0]
    while rounds < ROUNDS[1]:
        began = time.monotonic()
        work.run(SEEDS[0], rounds)
        if time.monotonic() - began >= ENOUGH:
            break
        rounds *= 2
    return rounds
