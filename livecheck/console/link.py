"""The console's end of the worker: started for one request, told orders, listened to."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import sys
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from livecheck.languages import ENGLISH
from livecheck.wording import text

if TYPE_CHECKING:
    from livecheck.console.replies import Reply
    from livecheck.console.requests import Job, RunOrder

_LINE_LIMIT: Final = 64 << 20
"""Longest reply line in bytes; a reading with its details is far shorter."""


class WorkerLink:
    """A worker process for each job; orders go to the run."""

    def __init__(self, shop: Path | None, source: Path | None) -> None:
        self._shop = str(shop) if shop else None
        self._source = str(source) if source else None
        self.language: str | None = ENGLISH
        """What replies are in; None: what the shop's file says."""
        self._alive: set[asyncio.subprocess.Process] = set()
        self._run: asyncio.subprocess.Process | None = None

    async def ask(self, job: Job) -> AsyncIterator[Reply]:
        """Start a worker for a job and yield what it replies; trouble is a reply too."""
        import msgspec

        from livecheck.console.replies import Happened, Trouble
        from livecheck.console.requests import BringKept, SaveKept, SwitchOff

        kept = job.file if isinstance(job, SaveKept) else None
        # Where nothing was kept, there is nothing to bring.
        answered = isinstance(job, SwitchOff) or job == BringKept(())
        try:
            async for reply in self._replies(job):
                answered = answered or not isinstance(reply, Happened)
                yield reply
        except OSError as error:
            yield Trouble(says=text("alarm.stick-gone", error=error.strerror or error), kept=kept)
            return
        except (msgspec.DecodeError, ValueError):
            # No reply of a worker that is whole, or a line that does not end.
            answered = False
        if not answered:
            yield Trouble(says=text("alarm.no-answer"), kept=kept)

    async def _replies(self, job: Job) -> AsyncIterator[Reply]:
        import msgspec

        from livecheck.console.replies import Reply
        from livecheck.console.requests import Request, TakeRun

        request = Request(job=job, shop=self._shop, source=self._source, language=self.language)
        decoder = msgspec.json.Decoder[Reply](Reply)
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            # -P: a folder that somebody happens to stand in holds no module of ours.
            *("-P", "-m", "livecheck.console.worker"),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.DEVNULL,
            limit=_LINE_LIMIT,
        )
        self._alive.add(process)
        if isinstance(job, TakeRun):
            self._run = process
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
            process.stdin.close()
            self._alive.discard(process)

    def order(self, word: RunOrder) -> None:
        """Tell the run one thing, if one goes on."""
        if self._run in self._alive and self._run is not None and self._run.stdin is not None:
            with contextlib.suppress(OSError):
                self._run.stdin.write(f"{word}\n".encode("ascii"))

    async def end(self) -> None:
        """No worker outlives the console; it saves what it has."""
        for process in tuple(self._alive):
            with contextlib.suppress(ProcessLookupError):
                process.send_signal(signal.SIGTERM)
            await process.wait()
