"""Kernel messages out of a saved log, whatever wrote it, with the log's own times.

Known: ``dmesg`` plain, with human or ISO times and with levels; ``journalctl`` short, with ISO
or monotonic times, ``-o json`` and ``-o export``; syslog files. Lines of other programs are
passed over; a line without a time is of the moment of the one before. Formats: dmesg(1),
journalctl(1), systemd's ``JOURNAL_EXPORT_FORMATS``.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime
from typing import Final, NamedTuple, Protocol

import msgspec

from livecheck.host import KernelMessage

LONGEST_LINE: Final = 1 << 16
"""Bytes of a line, or of a journal's field, that are read; a longer one is cut."""

NO_PRIORITY: Final = 6
"""Of a line that does not tell it: then no line is held to be a warning nobody knows."""

LATEST: Final = 250_000_000_000.0
"""Seconds since 1970 in the year 9892; no calendar of Python's ends before."""

NEW_START: Final = "Linux version "
"""First words of the kernel after each start (init/main.c)."""


class Lines(Protocol):
    """The stream of a log, read line by line."""

    def readline(self, size: int, /) -> bytes:
        """One line, or its first bytes; empty at the end."""

    def read(self, size: int, /) -> bytes:
        """So many bytes, fewer at the end."""


class Stamped(NamedTuple):
    """One message and when the log says it was."""

    seconds: float
    """Since 1970 where the log has dates, else since the start; it never falls."""
    dated: bool
    message: KernelMessage


def read(stream: Lines, year: int) -> Iterator[Stamped]:
    """The kernel's messages in the order of the log. ``year`` is for times that have none."""
    first = stream.readline(LONGEST_LINE)
    if first.startswith((b"__CURSOR=", b"__REALTIME_TIMESTAMP=")):
        found = _journal(_export(first, stream))
    elif first.startswith(b"{"):
        found = _journal(_json(_lines(first, stream)))
    else:
        found = _text(_lines(first, stream), year)
    return _never_falling(found)


def _lines(first: bytes, stream: Lines) -> Iterator[bytes]:
    line = first
    while line:
        yield line
        line = stream.readline(LONGEST_LINE)


def _never_falling(found: Iterable[Stamped]) -> Iterator[Stamped]:
    """Times since the start begin anew at each start: they are put one after the other."""
    base = last = 0.0
    for one in found:
        if not one.dated and one.seconds + base < last and one.message.text.startswith(NEW_START):
            base = last + 60.0
        seconds = min(max(one.seconds if one.dated else one.seconds + base, 0.0), LATEST)
        last = max(last, seconds)
        message = msgspec.structs.replace(one.message, seconds=seconds)
        yield Stamped(seconds, one.dated, message)


# --- The journal


def _export(first: bytes, stream: Lines) -> Iterator[Mapping[str, str]]:
    """Entries of journalctl -o export: fields, and a blank line after each entry."""
    entry: dict[str, str] = {}
    line = first
    while line:
        name, is_text, value = line.rstrip(b"\n").partition(b"=")
        if not name and not is_text:
            yield entry
            entry = {}
        elif is_text:
            entry[_words(name)] = _words(value)
        else:
            size = int.from_bytes(stream.read(8), "little")
            if size > LONGEST_LINE:
                return  # no field of the kernel is so long: the file is none, or damaged
            entry[_words(name)] = _words(stream.read(size))
            stream.read(1)
        line = stream.readline(LONGEST_LINE)
    if entry:
        yield entry


def _json(lines: Iterable[bytes]) -> Iterator[Mapping[str, str]]:
    """Entries of journalctl -o json; a field that is no text is a list of its bytes."""
    for line in lines:
        try:
            entry = msgspec.json.decode(line, type=dict[str, str | list[int] | None])
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
            continue
        yield {
            key: value if isinstance(value, str) else _words(bytes(b & 0xFF for b in value or ()))
            for key, value in entry.items()
        }


def _journal(entries: Iterable[Mapping[str, str]]) -> Iterator[Stamped]:
    for entry in entries:
        stamp = entry.get("__REALTIME_TIMESTAMP", "")
        if entry.get("_TRANSPORT") != "kernel" or not re.fullmatch(r"[0-9]{1,18}", stamp):
            continue
        priority = entry.get("PRIORITY", "")
        message = KernelMessage(
            0.0,
            int(priority) if re.fullmatch(r"[0-7]", priority) else NO_PRIORITY,
            entry.get("MESSAGE", ""),
            entry.get("_KERNEL_DEVICE"),
        )
        yield Stamped(int(stamp) / 1e6, True, message)


# --- Lines


_LEVELS: Final = ("emerg", "alert", "crit", "err", "warn", "notice", "info", "debug")
_PRIORITY: Final = re.compile(r"^(?:<(\d{1,3})>|kern\s*:(\w+)\s*: )")
_SINCE_START: Final = re.compile(r"^\[\s*(\d+\.\d+)\] ?(?:\[\s*[TC]\d+\] )?")
_KERNEL: Final = re.compile(r"^\S+ kernel(?:\[\d+\])?: (?:\[\s*\d+\.\d+\] ?)?")
"""After the time in journals and syslog files: host, program, and often the time again."""


class _DateForm(NamedTuple):
    """One way of writing dates."""

    pattern: re.Pattern[str]
    form: str
    named: bool
    """True: host and program follow."""


_DAY: Final = r"[A-Z]\w\w [ \d]\d \d\d:\d\d:\d\d"
_ISO_TIME: Final = r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d"
_STAMPS: Final = (
    _DateForm(re.compile(rf"^\[[A-Z]\w\w ({_DAY} \d{{4}})\] ?"), "%b %d %H:%M:%S %Y", False),
    _DateForm(re.compile(rf"^({_ISO_TIME}),\d+([+-]\d\d:\d\d) "), "%Y-%m-%d %H:%M:%S%z", False),
    _DateForm(re.compile(rf"^({_ISO_TIME})(?:\.\d+)?(Z|[+-]\d\d:?\d\d) "),
           "%Y-%m-%d %H:%M:%S%z", True),
    _DateForm(re.compile(rf"^(?:[A-Z]\w\w )?({_ISO_TIME})(?:\.\d+)?(?: [A-Z]{{2,5}})? "),
           "%Y-%m-%d %H:%M:%S", True),
    _DateForm(re.compile(rf"^({_DAY})(?:\.\d+)? "), "%Y %b %d %H:%M:%S", True),
)  # fmt: skip


def _text(lines: Iterable[bytes], year: int) -> Iterator[Stamped]:
    seconds, dated = 0.0, False
    for raw in lines:
        if raw.isspace():
            continue
        priority, line = _priority(_words(raw).rstrip("\r\n"))
        stamp = _date(line, year)
        named = False
        if stamp is not None:
            seconds, end, named = stamp
            dated, line = True, line[end:]
        elif since := _SINCE_START.match(line):
            seconds, dated, line = float(since[1]), False, line[since.end() :]
        own = _KERNEL.match(line)
        line = line[own.end() :] if own is not None else line
        if line.strip() and (own is not None or not named):
            yield Stamped(seconds, dated, KernelMessage(0.0, priority, line))


def _priority(line: str) -> tuple[int, str]:
    match = _PRIORITY.match(line)
    if match is None:
        return NO_PRIORITY, line
    word = match[2]
    number = int(match[1]) & 7 if match[1] else NO_PRIORITY
    return _LEVELS.index(word) if word in _LEVELS else number, line[match.end() :]


def _date(line: str, year: int) -> tuple[float, int, bool] | None:
    """(Seconds since 1970, where the rest of the line begins, whether a host follows)."""
    for stamp in _STAMPS:
        match = stamp.pattern.match(line)
        if match is None:
            continue
        told = "".join(match.groups()).replace("T", " ").replace("Z", "+0000")
        if stamp.form.startswith("%Y %b"):
            told = f"{year} {told}"
        seconds = _seconds(told, stamp.form)
        return None if seconds is None else (seconds, match.end(), stamp.named)
    return None


@functools.lru_cache(maxsize=1024)
def _seconds(told: str, form: str) -> float | None:
    """Many lines are of one second."""
    try:
        found = datetime.strptime(told, form)
        return (found if found.tzinfo else found.replace(tzinfo=UTC)).timestamp()
    except (ValueError, OverflowError):
        return None


def _words(raw: bytes) -> str:
    return raw.decode("utf-8", "replace")
