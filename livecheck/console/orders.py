"""The worker's ear: the request on standard input, and the orders that come after it."""

from __future__ import annotations

import os

import msgspec

from livecheck.console.requests import Request, RunOrder
from livecheck.probes.control import Control


class Orders(Control):
    """What comes in on standard input after the request, looked at when the runner asks."""

    def __init__(self, descriptor: int = 0) -> None:
        self._descriptor = descriptor
        self._rest = b""
        self._ended = False
        self._paused = False
        self._skips = 0
        self._deepened = False
        self.stop = False

    def request(self) -> Request:
        """The first line; waits for it."""
        while b"\n" not in self._rest and not self._ended:
            self._take()
        line, _, self._rest = self._rest.partition(b"\n")
        os.set_blocking(self._descriptor, False)
        return msgspec.json.decode(line, type=Request)

    def stopped(self) -> bool:
        """Whether the run should end; also when nobody is there any more."""
        self._look()
        return self.stop or self._ended

    def paused(self) -> bool:
        self._look()
        return self._paused

    def skip(self) -> bool:
        self._look()
        if not self._skips:
            return False
        self._skips -= 1
        return True

    def deepened(self) -> bool:
        self._look()
        return self._deepened

    def _look(self) -> None:
        try:
            while not self._ended:
                self._take()
        except BlockingIOError:
            pass
        *lines, self._rest = self._rest.split(b"\n")
        for line in lines:
            self._obey(line.decode("ascii", "replace"))

    def _take(self) -> None:
        data = os.read(self._descriptor, 1 << 16)
        self._rest += data
        self._ended = not data

    def _obey(self, word: str) -> None:
        if word in (RunOrder.PAUSE, RunOrder.RESUME):
            self._paused = word == RunOrder.PAUSE
        elif word == RunOrder.SKIP:
            self._skips += 1
        elif word == RunOrder.DEEPEN:
            self._deepened = True
        elif word == RunOrder.STOP:
            self.stop = True
