"""Recorded SMART sectors (libatasmart's ``blob-examples``) as health data.

A blob is sections of a four-letter tag, a big-endian length and that many bytes: IDFY the
IDENTIFY sector, SMST the drive's verdict, SMDT the attribute sector, SMTH the thresholds.
Sector layout: twelve bytes an attribute from byte 2 on (smartmontools 7.3 ``atacmds.h``).
"""

from __future__ import annotations

import struct
from pathlib import Path

from livecheck.probes.drive.smart_data import AtaAttribute, AtaHealth, SmartData

ROWS = 30
ROW_BYTES = 12


def sections(blob: bytes) -> dict[str, bytes]:
    """The blob's sections by tag."""
    found: dict[str, bytes] = {}
    at = 0
    while at < len(blob):
        tag, size = struct.unpack_from(">4sI", blob, at)
        found[tag.decode("ascii")] = blob[at + 8 : at + 8 + size]
        at += 8 + size
    return found


def read(path: Path) -> SmartData:
    """Health data as smartctl's JSON would give it without a drive database: bare numbers."""
    found = sections(path.read_bytes())
    status = found.get("SMST")
    rotation = struct.unpack_from("<H", found["IDFY"], 217 * 2)[0]
    return SmartData(
        interface="sat",
        capable=True,
        passed=None if status is None else bool(int.from_bytes(status, "big")),
        solid_state=rotation == 1,
        ata=AtaHealth(attributes=attributes(found["SMDT"], found.get("SMTH"))),
    )


def attributes(data: bytes, thresholds: bytes | None) -> tuple[AtaAttribute, ...]:
    """The rows of the attribute sector that are in use."""
    limits = {}
    for row in range(ROWS if thresholds else 0):
        number, limit = struct.unpack_from("<BB", thresholds or b"", 2 + row * ROW_BYTES)
        limits[number] = limit
    found = []
    for row in range(ROWS):
        number, flags, value, worst, raw = struct.unpack_from("<BHBB6s", data, 2 + row * ROW_BYTES)
        if number:
            found.append(
                AtaAttribute(
                    number=number,
                    value=value,
                    worst=worst,
                    threshold=limits.get(number),
                    prefailure=bool(flags & 1),
                    raw=int.from_bytes(raw, "little"),
                )
            )
    return tuple(found)
