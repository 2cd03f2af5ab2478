"""What stands on the guest's screen, read from its picture glyph by glyph.

A cell counts as read only when its dots are exactly a glyph of the console's font, so
that this also shows every character that the font does not have, and half-drawn cells.
"""

from __future__ import annotations

import gzip
import struct
from pathlib import Path
from typing import Final

FONTS: Final = Path("/usr/share/consolefonts")
UNREAD: Final = "\N{REPLACEMENT CHARACTER}"
WIDTH: Final = 8


class Picture:
    """A portable pixmap (P6, 8 bits a colour), as QEMU's ``screendump`` writes it."""

    def __init__(self, data: bytes) -> None:
        magic, size, most, dots = data.split(maxsplit=3)[0], *self._head(data)
        assert magic == b"P6" and most == 255, data[:20]
        self.width, self.height = size
        self.dots = dots

    @staticmethod
    def _head(data: bytes) -> tuple[tuple[int, int], int, bytes]:
        lines = data.split(b"\n", 3)
        width, height = map(int, lines[1].split())
        return (width, height), int(lines[2]), lines[3]

    def row(self, y: int) -> bytes:
        """The dots of one line, three bytes each."""
        start = y * self.width * 3
        return self.dots[start : start + self.width * 3]


def glyphs(font: str) -> tuple[dict[bytes, str], int]:
    """Dots of each glyph (a byte a line) to its character, and the glyphs' height.

    PC Screen Font version 1 and 2; only fonts 8 dots wide are read.
    """
    data = gzip.decompress((FONTS / f"{font}.psf.gz").read_bytes())
    if data[:2] == b"\x36\x04":
        count, height, start = (512 if data[2] & 1 else 256), data[3], 4
        texts = _names_1(data[start + count * height :], count)
    else:
        start, _, count, size, height, width = struct.unpack("<8x6I", data[:32])
        assert width == WIDTH and size == height, f"{font} is not {WIDTH} dots wide"
        texts = _names_2(data[start + count * height :], count)
    shapes = [data[start + n * height : start + (n + 1) * height] for n in range(count)]
    # Where glyphs look alike, the first one's name is taken.
    found: dict[bytes, str] = {}
    for shape, text in zip(shapes, texts, strict=True):
        if text:
            found.setdefault(shape, text[0])
    found[bytes(height)] = " "
    return found, height


def _names_1(table: bytes, count: int) -> list[str]:
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
    return names[:count]


def _names_2(table: bytes, count: int) -> list[str]:
    return [e.split(b"\xfe")[0].decode("utf-8", "ignore") for e in table.split(b"\xff")[:count]]


def read(picture: Picture, font: str) -> list[str]:
    """The screen's lines; a cell that is no glyph of the font is U+FFFD."""
    shapes, height = glyphs(font)
    lines = []
    for top in range(0, picture.height - height + 1, height):
        rows = [picture.row(top + y) for y in range(height)]
        cells = range(picture.width // WIDTH)
        lines.append("".join(_cell(rows, cell * WIDTH * 3, shapes) for cell in cells).rstrip())
    return lines


def _cell(rows: list[bytes], start: int, shapes: dict[bytes, str]) -> str:
    """Two colours a cell; which of them is the paper is found by trying both."""
    dots = [[row[start + 3 * x : start + 3 * x + 3] for x in range(WIDTH)] for row in rows]
    colours = {dot for line in dots for dot in line}
    if len(colours) == 1:
        return " "
    if len(colours) > 2:
        return UNREAD
    for ink in colours:
        shape = bytes(sum(0x80 >> x for x, dot in enumerate(line) if dot == ink) for line in dots)
        if shape in shapes:
            return shapes[shape]
    return UNREAD
