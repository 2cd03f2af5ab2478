"""Glyphs and characters of a Linux console font, from the font file itself.

Format: PC Screen Font versions 1 and 2 (kbd's documentation, psf.h constants).
"""

from __future__ import annotations

import gzip
import struct
from functools import cache
from pathlib import Path
from typing import NamedTuple

FOLDER = Path("/usr/share/consolefonts")


class Font(NamedTuple):
    """What a font file holds, glyph by glyph."""

    width: int
    height: int
    shapes: tuple[bytes, ...]
    """Dots of each glyph, row by row, each row filled up to whole bytes."""
    names: tuple[str, ...]
    """Single characters each glyph is drawn for; sequences are passed over."""


@cache
def load(name: str) -> Font:
    """The font of this name, as the image installs it."""
    data = gzip.decompress((FOLDER / f"{name}.psf.gz").read_bytes())
    if data[:2] == b"\x36\x04":
        count, size, start = (512 if data[2] & 1 else 256), data[3], 4
        width, height = 8, size
        names = _names_1(data[start + count * size :])
    else:
        start, _, count, size, height, width = struct.unpack("<8x6I", data[:32])
        names = _names_2(data[start + count * size :])
    shapes = tuple(data[start + n * size : start + (n + 1) * size] for n in range(count))
    return Font(width, height, shapes, tuple(names[:count]))


def characters(name: str) -> frozenset[str]:
    """Every single character the font ``name`` maps to a glyph."""
    return frozenset("".join(load(name).names))


def _names_1(table: bytes) -> list[str]:
    words = struct.unpack(f"<{len(table) // 2}H", table[: len(table) // 2 * 2])
    names, current, sequence = [], "", False
    for word in words:
        if word == 0xFFFF:
            names.append(current)
            current, sequence = "", False
        elif word == 0xFFFE:
            sequence = True
        elif not sequence:
            current += chr(word)
    return names


def _names_2(table: bytes) -> list[str]:
    return [e.split(b"\xfe")[0].decode("utf-8", "ignore") for e in table.split(b"\xff")]
