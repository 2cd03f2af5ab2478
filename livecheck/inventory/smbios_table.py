"""Reads the raw SMBIOS table, whatever state it is in (DMTF DSP0134).

Firmware writes these tables by hand and gets them wrong. Nothing here raises:
a rule broken is a sentence in ``Tables.damage``, and what can be read is read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck.inventory.smbios_types import EntryPoint

END_OF_TABLE: Final = 127


class Raw(msgspec.Struct, frozen=True):
    """One structure as it stands: formatted area with its head, and its strings."""

    kind: int
    handle: int
    body: bytes
    strings: tuple[str, ...]

    def number(self, offset: int, size: int) -> int | None:
        """A little-endian number; None when the structure ends before it."""
        if offset + size > len(self.body):
            return None
        return int.from_bytes(self.body[offset : offset + size], "little")

    def byte(self, offset: int) -> int | None:
        return self.number(offset, 1)

    def word(self, offset: int) -> int | None:
        return self.number(offset, 2)

    def dword(self, offset: int) -> int | None:
        return self.number(offset, 4)

    def qword(self, offset: int) -> int | None:
        return self.number(offset, 8)

    def string(self, offset: int) -> str | None:
        """The string whose number stands at the offset; None for none, or one that is missing."""
        index = self.byte(offset)
        if not index or index > len(self.strings):
            return None
        return self.strings[index - 1].strip() or None


class Walk(msgspec.Struct, frozen=True):
    """All structures of a table in order, and what is wrong with it."""

    structures: tuple[Raw, ...]
    damage: tuple[str, ...]


def entry_point(data: bytes) -> tuple[EntryPoint | None, tuple[str, ...]]:
    """An entry point of either form (DSP0134 5.2.1 and 5.2.2), and what is wrong with it."""
    if data.startswith(b"_SM3_"):
        return _entry_64(data)
    if data.startswith(b"_SM_"):
        return _entry_32(data)
    return None, ("The SMBIOS entry point has no anchor string.",)


def _entry_64(data: bytes) -> tuple[EntryPoint | None, tuple[str, ...]]:
    length = data[6] if len(data) > 6 else 0
    if length < 0x18 or len(data) < length:
        return None, ("The 64-bit SMBIOS entry point is cut short.",)
    wrong = () if not sum(data[:length]) & 0xFF else (_sum_says("64-bit entry point"),)
    return EntryPoint(
        version=(data[7], data[8]),
        table_bytes=int.from_bytes(data[0x0C:0x10], "little"),
        exact=False,
        structures=None,
    ), wrong


def _entry_32(data: bytes) -> tuple[EntryPoint | None, tuple[str, ...]]:
    length = data[5] if len(data) > 5 else 0
    # 1Eh: a length that version 2.1 of the standard printed by mistake, and firmware copied.
    if length not in (0x1E, 0x1F, 0x20) or len(data) < 0x1F:
        return None, ("The 32-bit SMBIOS entry point is cut short.",)
    wrong = []
    if sum(data[:length]) & 0xFF:
        wrong.append(_sum_says("32-bit entry point"))
    if data[0x10:0x15] != b"_DMI_":
        wrong.append("The 32-bit SMBIOS entry point lacks its second anchor string.")
    elif sum(data[0x10:0x1F]) & 0xFF:
        wrong.append(_sum_says("second part of the 32-bit entry point"))
    return EntryPoint(
        version=(data[6], data[7]),
        table_bytes=int.from_bytes(data[0x16:0x18], "little"),
        exact=True,
        structures=int.from_bytes(data[0x1C:0x1E], "little"),
    ), tuple(wrong)


def _sum_says(what: str) -> str:
    return f"The checksum of the SMBIOS {what} is wrong."


def walk(table: bytes) -> Walk:
    """Split a table into structures (DSP0134 6.1)."""
    found: list[Raw] = []
    damage: list[str] = []
    handles: set[int] = set()
    ended = False
    position = 0
    while position + 4 <= len(table) and not ended:
        kind, length = table[position], table[position + 1]
        handle = int.from_bytes(table[position + 2 : position + 4], "little")
        where = f"SMBIOS structure {handle:04X}h (type {kind})"
        if length < 4:
            damage.append(f"{where} says it is {length} bytes long; the rest cannot be read.")
            break
        if position + length > len(table):
            damage.append(f"{where} runs over the end of the table.")
            break
        body = table[position : position + length]
        strings, position, whole = _strings(table, position + length)
        if not whole:
            damage.append(f"The strings of {where} run over the end of the table.")
        if handle in handles:
            damage.append(f"Two SMBIOS structures have the handle {handle:04X}h.")
        handles.add(handle)
        ended = kind == END_OF_TABLE
        found.append(Raw(kind, handle, body, strings))
    if not ended:
        damage.append("The SMBIOS table has no end-of-table structure (type 127).")
    return Walk(tuple(found), tuple(damage))


def _strings(table: bytes, start: int) -> tuple[tuple[str, ...], int, bool]:
    """Strings behind a formatted area, where the next structure starts, and if they ended."""
    end = table.find(b"\0\0", start)
    whole = end >= 0
    stop = end if whole else len(table)
    area = table[start:stop].rstrip(b"\0") if not whole else table[start:stop]
    strings = tuple(s.decode("utf-8", "replace") for s in area.split(b"\0")) if area else ()
    return strings, stop + 2, whole


_STRING_OFFSETS: Final = {
    0: (4, 5, 8),
    1: (4, 5, 6, 7, 0x19, 0x1A),
    2: (4, 5, 6, 7, 8),
    3: (4, 6, 7, 8),
    4: (4, 7, 0x10, 0x20, 0x21, 0x22),
    9: (4,),
    17: (0x10, 0x11, 0x17, 0x18, 0x19, 0x1A),
    22: (4, 5, 6, 7, 8, 0x14),
}
"""Where string numbers stand in the structures that are decoded."""

_SHORTEST: Final = {0: 0x12, 1: 8, 2: 8, 3: 9, 4: 0x1A, 9: 0x0C, 16: 0x0F, 17: 0x15, 22: 0x10}
"""Bytes of the formatted area in the first version of the standard that had the structure."""


def faults(structures: tuple[Raw, ...]) -> Iterator[str]:
    """Where single structures break the rules: too short, or naming what is not there."""
    handles = {s.handle for s in structures}
    for s in structures:
        where = f"SMBIOS structure {s.handle:04X}h (type {s.kind})"
        if len(s.body) < _SHORTEST.get(s.kind, 4):
            yield f"{where} is {len(s.body)} bytes long, which is shorter than the standard allows."
        numbers = [s.byte(o) or 0 for o in _STRING_OFFSETS.get(s.kind, ())]
        missing = sorted({n for n in numbers if n > len(s.strings)})
        if missing:
            yield f"{where} names string {missing[0]}, but has {len(s.strings)}."
        owner = {17: s.word(4), 19: s.word(0x0C), 20: s.word(0x0C)}.get(s.kind)
        if owner is not None and owner not in handles:
            yield f"{where} belongs to handle {owner:04X}h, which is not in the table."


def iso_date(written: str | None) -> str | None:
    """``mm/dd/yyyy`` or ``mm/dd/yy`` (DSP0134 7.1, 19yy) as ISO 8601; else as written."""
    match = re.fullmatch(r"(\d{1,2})/(\d{1,2})/(\d{2}|\d{4})", written or "")
    if match is None:
        return written
    year = int(match[3]) + (1900 if len(match[3]) == 2 else 0)
    return f"{year:04d}-{int(match[1]):02d}-{int(match[2]):02d}"


def unless(value: int | None, *unknown: int) -> int | None:
    """A field's value; None for the codes that stand for "unknown"."""
    return None if value in unknown else value
