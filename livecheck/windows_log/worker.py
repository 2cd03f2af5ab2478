"""An event log read in a process of its own, and the side that follows it.

The file comes from a customer's drive and may hold anything. Whatever it does to its reader (a
compiled library) ends that process alone, which has a bound on memory and time, may write no
file, and nobody's rights.
"""

from __future__ import annotations

import contextlib
import io
import os
import resource
import select
import signal
import time
import warnings
from collections.abc import Iterator, Mapping
from typing import Final

import msgspec

from livecheck import framed
from livecheck.windows_log.kept import Kept, Sieve
from livecheck.windows_log.rows import WindowsEvent

MEMORY: Final = 2 << 30
"""Bytes of addresses, its parent's own among them."""
NOBODY: Final = 65534
"""Debian's user with no rights (Debian Policy 9.2.2)."""


class SoFar(msgspec.Struct, frozen=True, tag="so far"):
    """How far it is."""

    events: int
    unread: int
    """Events that are damaged."""
    done: bool = False


class Sifted(msgspec.Struct, frozen=True, tag="sifted"):
    """An event to be kept."""

    kept: Kept


Message = SoFar | Sifted


def follow(
    descriptor: int, rows: Mapping[str, WindowsEvent], every: int, seconds: float
) -> Iterator[Message]:
    """What is in the log, until its end or ``seconds`` are over; done was told, or it was not
    the end."""
    pipe, child_end = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(pipe)
        _main(descriptor, rows, every, child_end)
    os.close(child_end)
    joiner, decoder = framed.Joiner(), msgspec.msgpack.Decoder(Message)
    until = time.monotonic() + seconds
    try:
        while select.select([pipe], [], [], max(0.0, until - time.monotonic()))[0]:
            piece = os.read(pipe, 1 << 16)
            if not piece or time.monotonic() > until:
                return
            for body in joiner.feed(piece):
                yield decoder.decode(body)
    finally:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        os.close(pipe)


def _main(
    descriptor: int, rows: Mapping[str, WindowsEvent], every: int, pipe: int
) -> None:  # pragma: no cover - a process of its own
    """The worker's whole life; never returns."""
    try:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        import evtx

        _give_up_rights(descriptor)
        log = io.BufferedReader(io.FileIO(descriptor))
        _read(evtx.PyEvtxParser(log, number_of_threads=1, skip_errors=True), rows, every, pipe)
    finally:
        os._exit(0)


def _give_up_rights(descriptor: int) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    os.dup2(descriptor, 2)  # open for reading alone: what the library says goes nowhere
    if os.geteuid() == 0:
        with contextlib.suppress(OSError):
            os.setgroups([])
            os.setresgid(NOBODY, NOBODY, NOBODY)
            os.setresuid(NOBODY, NOBODY, NOBODY)


def _read(parser: object, rows: Mapping[str, WindowsEvent], every: int, pipe: int) -> None:
    """Each event through the sieve; its own words for damage are counted and thrown away."""
    sieve, count, unread = Sieve(rows), 0, list[str]()
    warnings.simplefilter("always")
    warnings.showwarning = lambda *told, **more: unread.append("")
    for record in parser.records_json():  # type: ignore[attr-defined]
        count += 1
        kept = sieve.kept(record["data"])
        if kept is not None:
            _tell(pipe, Sifted(kept))
        if count % every == 0:
            _tell(pipe, SoFar(count, len(unread)))
    _tell(pipe, SoFar(count, len(unread), done=True))


def _tell(pipe: int, message: Message) -> None:
    framed.send(pipe, msgspec.msgpack.encode(message))
