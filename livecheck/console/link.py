"""The console's end of the worker: started for one request, told orders, listened to."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import sys
from collections.abc import AsyncIterator
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from livecheck.console.replies import Reply
    from livecheck.console.requests import Request, RunOrder

_LINE_LIMIT: Final = 64 << 20
"""Longest reply line in bytes; a reading with its details is far shorter."""


class Link:
    """One worker process at a time."""

    def __init__(self) -> None:
        self._process: asyncio.subprocess.Process | None = None

    @property
    def busy(self) -> bool:
        """Whether a worker lives."""
        return self._process is not None and self._process.returncode is None

    async def ask(self, request: Request) -> AsyncIterator[Reply]:
        """Start a worker for a request and yield what it replies.

        Raises OSError when it cannot be started (the stick is gone).
        """
        import msgspec

        from livecheck.console.replies import Reply

        decoder = msgspec.json.Decoder[Reply](Reply)
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            *("-m", "livecheck.console.worker"),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.DEVNULL,
            limit=_LINE_LIMIT,
        )
        self._process = process
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(msgspec.json.encode(request) + b"\n")
        try:
            async for line in process.stdout:
                yield decoder.decode(line)
        finally:
            if process.returncode is None:
                with contextlib.suppress(ProcessLookupError):
                    process.terminate()
            await process.wait()

    def order(self, word: RunOrder) -> None:
        """Tell the worker one thing, if one lives."""
        if self._process is not None and self.busy and self._process.stdin is not None:
            with contextlib.suppress(OSError):
                self._process.stdin.write(f"{word}\n".encode("ascii"))

    async def end(self) -> None:
        """No worker outlives the console; it saves what it has."""
        if self._process is not None and self.busy:
            with contextlib.suppress(ProcessLookupError):
                self._process.send_signal(signal.SIGTERM)
            await self._process.wait()
