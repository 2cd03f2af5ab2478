"""Kernel messages out of a saved log, whatever wrote it, with the log's own times.

Known: whatever ``stamps`` takes apart, ``journalctl -o json`` and its kin, ``-o export``,
``dmesg --json``. Lines of other programs are passed over; a line without a time is of the
moment of the one before. Formats: dmesg(1), journalctl(1), systemd's
``JOURNAL_EXPORT_FORMATS``, RFC 7464.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final, NamedTuple, Protocol

import msgspec

from livecheck.host import KernelMessage
from livecheck.kernel_log import stamps

LONGEST_LINE: Final = 1 << 16
"""Bytes of a line, or of a journal's field, that are read; a longer one is cut."""

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
    while first.isspace():
        first = stream.readline(LONGEST_LINE)
    if re.match(rb"_{0,2}[A-Z][A-Z_]*=", first):
        found = _journal(_export(first, stream))
    elif re.match(rb'\x1e?(?:data: )?\{\s*(?:["}]|$)', first):
        found = _journal(_json(_lines(first, stream)))
    else:
        found = _text(_lines(first, stream), year)
    return _never_falling(found)


_TO_ITS_END: Final = re.compile(rb"[^\r\n]*[\r\n]*")


def _lines(first: bytes, stream: Lines) -> Iterator[bytes]:
    """Lines, cut: what is left of a longer one is no line of its own, whatever it looks like."""
    line, within = first, False
    while line:
        end = _TO_ITS_END.match(line) if within else None
        yield line[end.end() :] if end is not None else line
        within = not line.endswith((b"\n", b"\r"))
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
            while line and not line.endswith(b"\n"):
                line = stream.readline(LONGEST_LINE)
        else:
            # A line break stands behind it. What is longer than the kernel's are is passed over.
            left = int.from_bytes(stream.read(8), "little") + 1
            part = stream.read(min(left, LONGEST_LINE))
            entry[_words(name)] = _words(part[: left - 1])
            while part and (left := left - len(part)):
                part = stream.read(min(left, LONGEST_LINE))
        line = stream.readline(LONGEST_LINE)
    if entry:
        yield entry


_FOR_BROWSERS: Final = b"data: "
"""Before each entry of journalctl -o json-sse; a record separator before those of json-seq."""


def _objects(lines: Iterable[bytes]) -> Iterator[bytes]:
    """One a line, or over several lines as ``-o json-pretty`` and ``dmesg --json`` write them."""
    held: bytes | None = None
    for raw in lines:
        line = raw.strip().lstrip(b"\x1e").removeprefix(_FOR_BROWSERS)
        if line.startswith(b"{") and line.endswith(b"}"):
            yield line
            continue
        if held is not None and line.startswith(b"}"):
            yield held + b"}"
            held = None
        if line.endswith(b"{"):
            held = b"{"
        elif held is not None:
            held = (held + line)[:LONGEST_LINE]


def _json(lines: Iterable[bytes]) -> Iterator[Mapping[str, str]]:
    """Entries; a field that is no text is a list of its bytes."""
    for line in _objects(lines):
        try:
            entry = msgspec.json.decode(line, type=dict[str, str | list[Any] | int | float | None])
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
            continue
        yield {key: _field(value) for key, value in entry.items()}


def _field(value: str | list[Any] | int | float | None) -> str:
    if isinstance(value, list):
        return _words(bytes(byte & 0xFF for byte in value if isinstance(byte, int)))
    return "" if value is None else str(value)


def _journal(entries: Iterable[Mapping[str, str]]) -> Iterator[Stamped]:
    for entry in entries:
        if "msg" in entry and re.fullmatch(r"[0-9]{1,12}\.[0-9]{1,9}", entry.get("time", "")):
            priority = stamps.level(entry.get("pri", ""))
            yield Stamped(float(entry["time"]), False, KernelMessage(0.0, priority, entry["msg"]))
            continue
        stamp = entry.get("__REALTIME_TIMESTAMP", "")
        # What programs write to /dev/kmsg has the kernel's transport and their own facility.
        kernels = entry.get("_TRANSPORT") == "kernel" and entry.get("SYSLOG_FACILITY", "0") == "0"
        if not kernels or not re.fullmatch(r"[0-9]{1,18}", stamp):
            continue
        message = KernelMessage(
            0.0,
            stamps.level(entry.get("PRIORITY", "")),
            entry.get("MESSAGE", ""),
            entry.get("_KERNEL_DEVICE"),
        )
        yield Stamped(int(stamp) / 1e6, True, message)


# --- Lines


_MORE: Final = re.compile(r"^ (?:DEVICE=(?P<device>\S+)|[A-Z_]+=)")
"""What /dev/kmsg writes behind a message."""


def _text(lines: Iterable[bytes], year: int) -> Iterator[Stamped]:
    seconds, dated, others = 0.0, False, False
    held: Stamped | None = None
    for line in (line for raw in lines for line in stamps.words(raw).splitlines()):
        more = _MORE.match(line) if held is not None else None
        if held is not None and more is not None:
            message = msgspec.structs.replace(held.message, device=more["device"])
            held = held._replace(message=message) if more["device"] else held
            continue
        found = stamps.take_apart(line, year)
        # What follows a program's line without a date of its own is that program's too.
        if found.dated or found.text.startswith(NEW_START):
            others = not found.kernels
        if others or not found.kernels:
            if held is not None:
                yield held
            held = None
            continue
        if found.seconds is not None:
            seconds = seconds + found.seconds if found.step else found.seconds
            dated = dated if found.step else found.dated
        if found.text.strip():
            if held is not None:
                yield held
            held = Stamped(seconds, dated, KernelMessage(0.0, found.priority, found.text))
    if held is not None:
        yield held


def _words(raw: bytes) -> str:
    return raw.decode("utf-8", "replace")
