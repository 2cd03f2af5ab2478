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
import struct
import time
import warnings
import zlib
from collections.abc import Iterator, Mapping
from typing import Final

import msgspec

from livecheck import framed
from livecheck.records.windows_events import WindowsEvent
from livecheck.windows_log.kept import Kept, Sieve

MEMORY: Final = 2 << 30
"""Bytes of addresses, its parent's own among them."""
NOBODY: Final = 65534
"""Debian's user with no rights (Debian Policy 9.2.2)."""


HEAD: Final = 4096
CHUNK: Final = 65536
"""Bytes before the chunks, and of each."""
_MARK: Final = b"ElfChnk\0"
_USED_AT: Final = 48
"""In a chunk: where its events end, and their checksum."""
_EVENTS_AT: Final = 512
_FLAGS_AT: Final = 120
"""In the head; of the form: libevtx, "Windows XML Event Log (EVTX)"."""


class SoFar(msgspec.Struct, frozen=True, tag="so far"):
    """How far it is."""

    events: int
    unread: int = 0
    """Events and chunks that are damaged."""
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
        damaged = _damaged_chunks(descriptor)
        log = io.BufferedReader(io.FileIO(descriptor))
        parser = evtx.PyEvtxParser(log, number_of_threads=1, skip_errors=True)
        count, unread = _read(parser, Sieve(rows), every, pipe)
        _tell(pipe, SoFar(count, unread + damaged, done=True))
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


def _read(parser: object, sieve: Sieve, every: int, pipe: int) -> tuple[int, int]:
    """Each event through the sieve; words for damage are thrown away. How many
    events there were, and how many could not be read."""
    count, unread = 0, list[None]()
    warnings.simplefilter("always")
    warnings.showwarning = lambda *told, **more: unread.append(None)
    for record in parser.records_json():  # type: ignore[attr-defined]
        count += 1
        kept = sieve.kept(record["data"])
        if kept is not None:
            _tell(pipe, Sifted(kept))
        if count % every == 0:
            _tell(pipe, SoFar(count))
    return count, len(unread)


def _damaged_chunks(descriptor: int) -> int:
    """Chunks whose events are not those that their checksum was made of. A log that was never
    closed, as that of a sleeping machine, may have a checksum of before."""
    if os.pread(descriptor, 1, _FLAGS_AT) != b"\0":
        return 0
    damaged, at = 0, HEAD
    while chunk := os.pread(descriptor, CHUNK, at):
        at += CHUNK
        used, told = struct.unpack_from("<II", chunk.ljust(CHUNK, b"\0"), _USED_AT)
        damaged += chunk[: len(_MARK)] == _MARK and zlib.crc32(chunk[_EVENTS_AT:used]) != told
    return damaged


def _tell(pipe: int, message: Message) -> None:
    framed.send(pipe, msgspec.msgpack.encode(message))
