"""A machine in a file: recording what a host answered, and replaying it.

Answers are kept by stage of the run (``inventory``, ``probe:storage``, …) and by
question, in the order they came, so that a probe which reads a counter twice
gets both values again. A question the recording does not hold is answered as
the kernel answers for a file that is not there.
"""

from __future__ import annotations

import errno
import gzip
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path
from typing import Annotated, Final, TypeVar

import msgspec

from livecheck import guarded, records
from livecheck.host import (
    CommandResult,
    DiskHost,
    Facts,
    Host,
    KernelMessage,
    RadioHost,
    ScreenHost,
    TrayHost,
    UdevDevice,
    Unreadable,
)

_T = TypeVar("_T")

MAX_ERRNO: Final = 4095
"""Linux, include/linux/err.h."""
_BROKEN: Final = (msgspec.DecodeError, UnicodeDecodeError, RecursionError)
"""What is no JSON of the right types, or nested without end."""

Observations = dict[str, list[bytes]]
"""Question -> answers in order, each encoded by msgspec; an errno is ``{"errno": n}``."""


SCHEMA: Final = 1
"""Of capture files, which is not that of records."""


class Capture(msgspec.Struct, frozen=True):
    """The contents of a capture file."""

    program: str
    scopes: dict[str, dict[str, list[msgspec.Raw]]]
    schema: int = SCHEMA


class _Answer(msgspec.Struct, frozen=True):
    """One recorded answer: exactly one of the two fields is set."""

    value: msgspec.Raw = msgspec.Raw(b"null")
    errno: Annotated[int, msgspec.Meta(ge=0, le=MAX_ERRNO)] | None = None


class RecordingHost:
    """Asks another host and keeps every answer."""

    def __init__(
        self, inner: Host, scope_name: str = "", scopes: dict[str, Observations] | None = None
    ) -> None:
        self._inner = inner
        self._scope = scope_name
        self.scopes: dict[str, Observations] = {} if scopes is None else scopes

    def scope(self, name: str) -> Host:
        return RecordingHost(self._inner, name, self.scopes)

    def merge(self, scopes: dict[str, Observations]) -> None:
        """Take in what a probe's own process recorded."""
        for name, seen in scopes.items():
            self.scopes.setdefault(name, {}).update(seen)

    def _ask(self, question: str, call: Callable[[], _T]) -> _T:
        answers = self.scopes.setdefault(self._scope, {}).setdefault(question, [])
        try:
            value = call()
        except Unreadable as error:
            answers.append(msgspec.json.encode({"errno": error.errno}))
            raise
        answers.append(msgspec.json.encode({"value": value}))
        return value

    def facts(self) -> Facts:
        return self._ask("facts", self._inner.facts)

    def read(self, path: str) -> bytes:
        return self._ask(f"read {path}", lambda: self._inner.read(path))

    def names(self, path: str) -> tuple[str, ...]:
        return self._ask(f"names {path}", lambda: self._inner.names(path))

    def target(self, path: str) -> str | None:
        return self._ask(f"target {path}", lambda: self._inner.target(path))

    def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
        return self._ask(f"udev {subsystem}", lambda: self._inner.udev(subsystem))

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        return self._ask("kernel_log", self._inner.kernel_log)

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        return self._ask(f"command {' '.join(argv)}", lambda: self._inner.command(argv, deadline))

    def block(self, device: str, offset: int, length: int) -> bytes:
        question = f"block {device} {offset} {length}"
        return self._ask(question, lambda: self._inner.block(device, offset, length))

    def open_disk(self, device: str) -> int:
        """What is read through it is not recorded: a capture holds no customer's data."""
        if not isinstance(self._inner, DiskHost):
            raise Unreadable(device, errno.ENOENT)
        return self._inner.open_disk(device)

    def tray(self, device: str) -> int:
        inner = self._inner

        def ask() -> int:
            if not isinstance(inner, TrayHost):
                raise Unreadable(device, errno.ENOENT)
            return inner.tray(device)

        return self._ask(f"tray {device}", ask)

    def aux(self, device: str, offset: int, length: int) -> bytes:
        question = f"aux {device} {offset} {length}"
        return self._ask(question, lambda: self._screens(device).aux(device, offset, length))

    def edid_block(self, device: str) -> bytes:
        return self._ask(f"edid {device}", lambda: self._screens(device).edid_block(device))

    def _screens(self, device: str) -> ScreenHost:
        if not isinstance(self._inner, ScreenHost):
            raise Unreadable(device, errno.ENOENT)
        return self._inner

    def radio(self, question: str, index: int | None = None) -> tuple[bytes, ...]:
        asked = f"radio {question}" if index is None else f"radio {question} {index}"
        return self._ask(asked, lambda: self._inner.radio(question, index))

    def switched_on(self, index: int) -> AbstractContextManager[bool]:
        return self._radios(index).switched_on(index)

    def scan(self, index: int, deadline: float, stopped: Callable[[], bool]) -> None:
        """What is heard is read afterwards, by ``radio``, and recorded there."""
        self._radios(index).scan(index, deadline, stopped)

    def _radios(self, index: int) -> RadioHost:
        if not isinstance(self._inner, RadioHost):
            raise Unreadable(f"interface {index}", errno.ENODEV)
        return self._inner

    def clock(self) -> float:
        return self._ask("clock", self._inner.clock)

    def wait(self, seconds: float) -> None:
        self._inner.wait(seconds)


class CapturedHost:
    """Replays a capture; waits pass at once."""

    def __init__(
        self, scopes: dict[str, dict[str, list[msgspec.Raw]]], scope_name: str = ""
    ) -> None:
        self._scopes = scopes
        self._answers = scopes.get(scope_name, {})
        self._next: dict[str, int] = {}

    def scope(self, name: str) -> Host:
        return CapturedHost(self._scopes, name)

    def _answer(self, question: str, kind: type[_T], path: str = "") -> _T:
        recorded = self._answers.get(question)
        if not recorded:
            raise Unreadable(path or question, errno.ENOENT)
        index = self._next.get(question, 0)
        self._next[question] = index + 1
        # A replay that asks once more than the recording gets the last answer again.
        raw = recorded[min(index, len(recorded) - 1)]
        try:
            answer = msgspec.json.decode(raw, type=_Answer)
            if answer.errno is None:
                return msgspec.json.decode(answer.value, type=kind)
        except _BROKEN as error:
            raise records.DamagedRecord(
                f"the capture is damaged: what it holds for {question!r} is no answer: {error}"
            ) from error
        raise Unreadable(path or question, answer.errno)

    def facts(self) -> Facts:
        """Also refuses a time that is none: it names the case's folder."""
        facts = self._answer("facts", Facts)
        if not _is_time(facts.now):
            raise records.DamagedRecord(
                f"the capture is damaged: {facts.now[:40]!r} is no time (ISO 8601 UTC)"
            )
        return facts

    def read(self, path: str) -> bytes:
        return self._answer(f"read {path}", bytes, path)

    def names(self, path: str) -> tuple[str, ...]:
        if f"names {path}" not in self._answers:
            return ()
        return self._answer(f"names {path}", tuple[str, ...], path)

    def target(self, path: str) -> str | None:
        if f"target {path}" not in self._answers:
            return None
        return self._answer(f"target {path}", str | None, path)  # type: ignore[arg-type]

    def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
        if f"udev {subsystem}" not in self._answers:
            return ()
        return self._answer(f"udev {subsystem}", tuple[UdevDevice, ...])

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        return self._answer("kernel_log", tuple[KernelMessage, ...])

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        question = f"command {' '.join(argv)}"
        if question not in self._answers:
            return CommandResult(None, b"", b"", f"{argv[0]} was not run when this was recorded")
        return self._answer(question, CommandResult)

    def block(self, device: str, offset: int, length: int) -> bytes:
        return self._answer(f"block {device} {offset} {length}", bytes, device)

    def tray(self, device: str) -> int:
        return self._answer(f"tray {device}", int, device)

    def aux(self, device: str, offset: int, length: int) -> bytes:
        return self._answer(f"aux {device} {offset} {length}", bytes, device)

    def edid_block(self, device: str) -> bytes:
        return self._answer(f"edid {device}", bytes, device)

    def radio(self, question: str, index: int | None = None) -> tuple[bytes, ...]:
        asked = f"radio {question}" if index is None else f"radio {question} {index}"
        return self._answer(asked, tuple[bytes, ...], f"nl80211 {question}")

    def clock(self) -> float:
        return self._answer("clock", float) if "clock" in self._answers else 0.0

    def wait(self, seconds: float) -> None:
        return None


def _is_time(words: str) -> bool:
    """ISO 8601 with its zone, in the years that every file system can name."""
    try:
        moment = datetime.fromisoformat(words)
    except ValueError:
        return False
    return moment.tzinfo is not None and 1970 <= moment.year < 2262


def save(path: Path, host: RecordingHost, program: str) -> None:
    """Write a capture file (gzipped JSON). Raises OSError."""
    scopes = {
        name: {question: [msgspec.Raw(a) for a in answers] for question, answers in seen.items()}
        for name, seen in host.scopes.items()
    }
    body = msgspec.json.encode(Capture(program=program, scopes=scopes))
    path.write_bytes(gzip.compress(body, 6, mtime=0))


def load(path: Path) -> CapturedHost:
    """Read a capture file. Raises OSError, and DamagedRecord for a damaged one."""
    try:
        packed = guarded.read(guarded.named(path), guarded.CAPTURE_BYTES)
    except records.DamagedRecord as error:
        raise records.DamagedRecord(f"{path} is {error}") from error
    return parse(packed, str(path))


def parse(data: bytes, name: str) -> CapturedHost:
    """Read a capture's bytes; ``name`` is what messages call it. Raises DamagedRecord."""
    try:
        capture = msgspec.json.decode(guarded.unpacked(data), type=Capture)
    except (records.DamagedRecord, *_BROKEN) as error:
        raise records.DamagedRecord(f"{name} is not a whole capture file: {error}") from error
    if capture.schema != SCHEMA:
        raise records.DamagedRecord(f"{name} was written by schema {capture.schema}")
    return CapturedHost(capture.scopes)
