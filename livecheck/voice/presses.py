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
        for one in presses(data):
            self._put(one)
        if not data:
            asyncio.get_running_loop().remove_reader(self._descriptor)
            self._put(Press.GONE)

    def _put(self, one: Press) -> None:
        self._there.append(one)
        self._came.set()
