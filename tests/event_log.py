"""Windows event logs as a test wants them, written after the published format.

Form: libevtx, "Windows XML Event Log (EVTX)" (file and chunk header, event record, binary XML)
and MS-EVEN6 2.2.12 (binary XML); held against libevtx' own ``evtxexport`` in
``test_windows_log``. As in Windows' own, events of a form share their template within a chunk.
"""

from __future__ import annotations

import struct
import uuid
import zlib
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

CHUNK: Final = 65536
_BEGIN: Final = 512
"""First byte of a chunk's records."""
_SINCE_1601: Final = 11_644_473_600
"""Seconds from FILETIME's begin to 1970."""

Value = int | str | bool | bytes


_Known = dict[bytes, int]
"""Forms of events that a chunk has the template of, and where."""


class Entry(NamedTuple):
    """One event: named fields, or the bare strings that older drivers give."""

    seconds: int
    """Since 1970."""
    provider: str
    id: int
    fields: dict[str, Value] | tuple[Value, ...] = ()


def log(entries: Sequence[Entry]) -> bytes:
    """A whole log file that holds the entries in their order."""
    chunks, number = list[bytes](), 1
    for group in _groups(entries):
        chunks.append(_chunk(group, number))
        number += len(group)
    return header(len(chunks), number) + b"".join(chunks)


def header(chunks: int, next_record: int) -> bytes:
    """The block before the chunks."""
    begin = struct.pack(
        "<8sQQQIHHHH76xI", b"ElfFile", 0, max(chunks - 1, 0), next_record, 128, 1, 3, 4096,
        chunks & 0xFFFF, 0,
    )  # fmt: skip
    return (begin[:124] + struct.pack("<I", zlib.crc32(begin[:120]))).ljust(4096, b"\0")


def _groups(entries: Sequence[Entry]) -> Iterator[list[Entry]]:
    group, size, known = list[Entry](), _BEGIN, _Known()
    for entry in entries:
        length = len(_record(entry, 1, size, known))
        if size + length > CHUNK:
            yield group
            group, size, known = [], _BEGIN, {}
            length = len(_record(entry, 1, size, known))
        group.append(entry)
        size += length
    yield group


def _chunk(entries: Sequence[Entry], first: int) -> bytes:
    data, last_at, known = b"", _BEGIN, _Known()
    for number, entry in enumerate(entries, first):
        last_at = _BEGIN + len(data)
        data += _record(entry, number, last_at, known)
    last = first + len(entries) - 1
    begin = struct.pack("<8sQQQQIIII", b"ElfChnk", first, last, first, last, 128, last_at,
                        _BEGIN + len(data), zlib.crc32(data)).ljust(120, b"\0")  # fmt: skip
    tables = bytes(_BEGIN - 128)
    check = struct.pack("<II", 0, zlib.crc32(begin + tables))
    return (begin + check + tables + data).ljust(CHUNK, b"\0")


def _record(entry: Entry, number: int, at: int, known: _Known) -> bytes:
    when = (entry.seconds + _SINCE_1601) * 10_000_000
    body = _instance(_event(entry, when, number), entry.id, at + 24, known)
    size = 24 + len(body) + 4
    padding = -size % 8
    size += padding
    return (struct.pack("<4sIQQ", b"**\0\0", size, number, when) + body + bytes(padding)
            + struct.pack("<I", size))  # fmt: skip


class _Binary:
    """Binary XML that knows where in its chunk it stands: names are told by their place."""

    def __init__(self, at: int) -> None:
        self.at, self.data = at, bytearray()
        self.values: list[tuple[int, bytes]] = []

    def here(self) -> int:
        return self.at + len(self.data)

    def put(self, form: str, *values: int) -> None:
        self.data += struct.pack("<" + form, *values)

    def name(self, name: str) -> None:
        hashed = 0
        for letter in name:
            hashed = (hashed * 65599 + ord(letter)) & 0xFFFFFFFF
        self.put("I", self.here() + 4)
        self.put("IHH", 0, hashed & 0xFFFF, len(name))
        self.data += name.encode("utf-16-le") + b"\0\0"

    def element(self, tag: str, attributes: dict[str, Value], content: Sequence[_Child]) -> None:
        self.put("BH", 0x41 if attributes else 0x01, 0xFFFF)
        size_at = len(self.data)
        self.put("I", 0)
        self.name(tag)
        if attributes:
            list_at = len(self.data)
            self.put("I", 0)
            for name, value in reversed(attributes.items()):
                self.put("B", 0x46 if name != next(iter(attributes)) else 0x06)
                self.name(name)
                self.value(value)
            struct.pack_into("<I", self.data, list_at, len(self.data) - list_at - 4)
        self.put("B", 0x02)
        for child in content:
            if isinstance(child, _Element):
                self.element(*child)
            else:
                self.value(child)
        self.put("B", 0x04)
        struct.pack_into("<I", self.data, size_at, len(self.data) - size_at - 4)

    def value(self, value: Value) -> None:
        kind, raw = _typed(value)
        self.put("BHB", 0x0D, len(self.values), kind)
        self.values.append((kind, raw))


class _Element(NamedTuple):
    tag: str
    attributes: dict[str, Value]
    content: Sequence[_Child]


_Child = _Element | Value


class Hex(int):
    """A number that Windows writes in hexadecimal."""


class Moment(int):
    """A FILETIME."""


def _typed(value: Value) -> tuple[int, bytes]:
    match value:
        case bool():
            return 0x0D, struct.pack("<I", value)
        case Moment():
            return 0x11, struct.pack("<Q", value)
        case Hex():
            return 0x15, struct.pack("<Q", value)
        case int():
            return 0x0A, struct.pack("<Q", value)
        case bytes():
            return 0x0E, value
        case _:
            return 0x01, value.encode("utf-16-le")


def _instance(event: _Element, number: int, at: int, known: _Known) -> bytes:
    """A template, where the chunk has none of this form yet, and its values."""
    made, form = _Binary(at), _Binary(0)
    form.element(*event)
    made.put("4BBBI", 0x0F, 1, 1, 0, 0x0C, 1, number)
    made.put("I", known.setdefault(bytes(form.data), made.here() + 4))
    if known[bytes(form.data)] == made.here():
        made.put("I16x", 0)
        size_at = len(made.data)
        made.put("I4B", 0, 0x0F, 1, 1, 0)
        made.element(*event)
        made.put("B", 0)
        struct.pack_into("<I", made.data, size_at, len(made.data) - size_at - 4)
    made.put("I", len(form.values))
    for kind, raw in form.values:
        made.put("HBB", len(raw), kind, 0)
    return bytes(made.data) + b"".join(raw for _, raw in form.values) + b"\0"


def _event(entry: Entry, when: int, number: int) -> _Element:
    fields = entry.fields
    if isinstance(fields, dict):
        data = [_Element("Data", {"Name": name}, [value]) for name, value in fields.items()]
    else:
        data = [_Element("Data", {}, [value]) for value in fields]
    system = [
        _Element("Provider", {"Name": entry.provider}, []),
        _Element("EventID", {"Qualifiers": 0}, [entry.id]),
        _Element("Level", {}, [2]),
        _Element("TimeCreated", {"SystemTime": Moment(when)}, []),
        _Element("EventRecordID", {}, [number]),
        _Element("Channel", {}, ["System"]),
        _Element("Computer", {}, ["BENCH"]),
    ]
    return _Element("Event", {}, [_Element("System", {}, system), _Element("EventData", {}, data)])


def error_record(severity: int, section: str, body: bytes) -> bytes:
    """UEFI specification, appendix N: record header, one section descriptor, one section."""
    length = 128 + 72 + len(body)
    head = struct.pack("<4sHIHIII", b"CPER", 0x0210, 0xFFFFFFFF, 1, severity, 2, length)
    descriptor = struct.pack("<IIHBBI16s16sI20x", 200, len(body), 0x0201, 0, 0, 1,
                             uuid.UUID(section).bytes_le, bytes(16), severity)  # fmt: skip
    return head.ljust(128, b"\0") + descriptor + body


MEMORY: Final = "a5bc1114-6f64-4ede-b863-3e83ed7c83b1"
PCIE: Final = "d995e954-bbc1-430f-ad91-b44dcb3c6f35"
AT_THE_CARD: Final = struct.pack("<QIIIIHH3sBBHBBHB", 0xF, 0, 0x101, 0, 0, 0x168C, 0x003E,
                                 bytes(3), 0, 0, 0, 1, 0, 0, 0).ljust(208, b"\0")  # fmt: skip
"""A PCI Express section whose device is 01:00.0."""
