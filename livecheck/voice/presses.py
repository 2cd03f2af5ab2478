"""Three keys that a hand finds without looking, and nothing else.

Enter is the large key at the right edge, Escape the outermost one at the top left, the
space bar the widest one at the bottom: they lie there on every laptop (common practice, no
source), and no key map moves them.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import re
import termios
import tty
from collections import deque
from collections.abc import Iterator
from enum import StrEnum
from typing import Any, Final, Protocol

_PIECE: Final = 1 << 10
_SIGNS: Final = re.compile(
    r"\x1b\[\[[A-E]|\x1b\[[0-?]*[ -/]*[@-~]|\x1bO[@-~]|\x1b[!-~]|.", re.DOTALL
)
"""A key of its own, or what a terminal sends for one with several characters: control sequences
and single shifts (ECMA-48, 5.4 and 8.3), Alt with a letter, the first function keys of the
kernel's console (console_codes(4))."""
_ESCAPE: Final = (b"\x1b", b"\x1b[", b"\x1b[[", b"\x1bO", b"\x1b[1", b"\x1b[2")
REST_SECONDS: Final = 0.1
"""The rest of what a key sends comes in that time: three signs at 300 baud."""
HELD_SECONDS: Final = 0.4
"""The same key again within it is one that is held, or a hand that trembles: a held one comes again
after 250 ms, then every 33 ms (Linux, drivers/input/input.c)."""
_MEANING: Final = {"\r": "yes", "\n": "yes", "\x1b": "no", " ": "again"}


class Press(StrEnum):
    """What was pressed."""

    YES = "yes"
    NO = "no"
    AGAIN = "again"
    OTHER = "other"
    """A key that means nothing here."""
    GONE = "gone"
    """No key will come any more."""


class Presses(Protocol):
    """Where keys come from."""

    def waiting(self) -> bool:
        """Whether one is there; asked from any thread."""

    def forget(self) -> None:
        """Those that are there: what comes from now on counts."""

    async def next(self, seconds: float | None) -> Press | None:
        """The next one; None: none came in that time. Without a time it is waited for."""


def presses(data: bytes) -> Iterator[Press]:
    """The keys in what a terminal sent at once."""
    for sign in _SIGNS.findall(data.decode("utf-8", "replace")):
        yield Press(_MEANING.get(sign, "other"))


class KeyTerminal:
    """Keys of a terminal, each at once; of a pipe too. Use as a context manager."""

    def __init__(self, descriptor: int = 0) -> None:
        self._descriptor = descriptor
        self._there: deque[Press] = deque()
        self._came = asyncio.Event()
        self._before: list[Any] | None = None
        self._begun = b""
        self._rest: asyncio.TimerHandle | None = None
        self._last: tuple[Press | None, float] = (None, 0.0)

    async def __aenter__(self) -> KeyTerminal:
        with contextlib.suppress(termios.error):
            self._before = termios.tcgetattr(self._descriptor)
            tty.setcbreak(self._descriptor)
        try:
            asyncio.get_running_loop().add_reader(self._descriptor, self._take)
        except PermissionError:
            # epoll(7) has no place for ordinary files, as /dev/null in a script.
            self._put(Press.GONE)
        return self

    async def __aexit__(self, *_: object) -> None:
        asyncio.get_running_loop().remove_reader(self._descriptor)
        if self._before is not None:
            with contextlib.suppress(termios.error):
                termios.tcsetattr(self._descriptor, termios.TCSADRAIN, self._before)

    def waiting(self) -> bool:
        return bool(self._there) and self._there[0] is not Press.GONE

    def forget(self) -> None:
        gone = Press.GONE in self._there
        self._there = deque([Press.GONE] if gone else [])

    async def next(self, seconds: float | None) -> Press | None:
        if not self._there:
            self._came.clear()
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._came.wait(), seconds)
        if self._there and self._there[0] is Press.GONE:
            return Press.GONE
        return self._there.popleft() if self._there else None

    def _take(self) -> None:
        try:
            data = os.read(self._descriptor, _PIECE)
        except OSError:
            # A terminal that hung up answers EIO.
            data = b""
        self._begun += data
        if self._rest is not None:
            self._rest.cancel()
        if data and self._begun.endswith(_ESCAPE):
            # Escape itself, or the first sign of what a key sends: more of it may be on its way.
            self._rest = asyncio.get_running_loop().call_later(REST_SECONDS, self._whole)
        else:
            self._whole()
        if not data:
            asyncio.get_running_loop().remove_reader(self._descriptor)
            self._put(Press.GONE)

    def _whole(self) -> None:
        data, self._begun, self._rest = self._begun, b"", None
        now = asyncio.get_running_loop().time()
        for one in presses(data):
            held, self._last = (
                one is self._last[0] and now < self._last[1] + HELD_SECONDS,
                (one, now),
            )
            if not held:
                self._put(one)

    def _put(self, one: Press) -> None:
        self._there.append(one)
        self._came.set()
