"""Which characters a Linux console font holds, from the font file itself.

Format: PC Screen Font versions 1 and 2 (kbd's documentation, psf.h constants).
"""

from __future__ import annotations

import gzip
import struct
from pathlib import Path

FOLDER = Path("/usr/share/consolefonts")


def characters(name: str) -> frozenset[str]:
    """Every single character the font ``name`` maps to a glyph."""
    data = gzip.decompress((FOLDER / f"{name}.psf.gz").read_bytes())
    if data[:2] == b"\x36\x04":
        return _version1(data)
    return _version2(data)


def _version1(data: bytes) -> frozenset[str]:
    mode, height = data[2], data[3]
    count = 512 if mode & 1 else 256
    table = data[4 + count * height :]
    words = struct.unpack(f"<{len(table) // 2}H", table[: len(table) // 2 * 2])
    found: set[str] = set()
    in_sequence = False
    for word in words:
        if word == 0xFFFF:
            in_sequence = False
        elif word == 0xFFFE:
            in_sequence = True
        elif not in_sequence:
            found.add(chr(word))
    return frozenset(found)


def _version2(data: bytes) -> frozenset[str]:
    header, count, glyph_bytes = struct.unpack("<8xI4xII", data[:24])[0:3]
    table = data[header + count * glyph_bytes :]
    found: set[str] = set()
    for entry in table.split(b"\xff")[:count]:
        singles = entry.split(b"\xfe")[0]
        found.update(singles.decode("utf-8", "ignore"))
    return frozenset(found)
