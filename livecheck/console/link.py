"""The console's end of the worker: started for one request, told orders, listened to."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import sys
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from livecheck.console.replies import Reply
    from livecheck.console.requests import Job, RunOrder

_LINE_LIMIT: Final = 64 << 20
"""Longest reply line in bytes; a reading with its details is far shorter."""
STICK_GONE: Final = (
    "The livecheck stick does not answer ({error}). Plug it in again and try once more; "
    "if that does not help, switch the machine off and start it anew."
)


class WorkerLink:
    """One worker process at a time."""

    def __init__(self, shop: Path | None, source: Path | None) -> None:
        self._shop = str(shop) if shop else None
        self._source = str(source) if source else None
        self._process: asyncio.subprocess.Process | None = None

    @property
    def busy(self) -> bool:
        """Whether a worker lives."""
        return self._process is not None and self._process.returncode is None

    async def ask(self, job: Job) -> AsyncIterator[Reply]:
        """Start a worker for a job and yield what it replies; trouble is a reply too."""
        from livecheck.console.replies import Trouble
        from livecheck.console.requests import SaveKept

        try:
            async for reply in self._replies(job):
                yield reply
        except OSError as error:
            kept = job.file if isinstance(job, SaveKept) else None
            yield Trouble(says=STICK_GONE.format(error=error.strerror or error), kept=kept)

    async def _replies(self, job: Job) -> AsyncIterator[Reply]:
        import msgspec

        from livecheck.console.replies import Reply
        from livecheck.console.requests import Request

        request = Request(job=job, shop=self._shop, source=self._source)
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
