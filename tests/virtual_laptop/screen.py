"""What stands on the guest's screen, read from its picture glyph by glyph.

A cell counts as read only when its dots are exactly a glyph of the console's font, so
that this also shows every character that the font does not have, and half-drawn cells.
"""

from __future__ import annotations

from typing import Final

from tests.console import psf

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
    """Dots of each glyph (a byte a line) to its character, and the glyphs' height."""
    found: dict[bytes, str] = {}
    drawn = psf.load(font)
    assert drawn.width == WIDTH, f"{font} is not {WIDTH} dots wide"
    # Where glyphs look alike, the first one's name is taken.
    for shape, text in zip(drawn.shapes, drawn.names, strict=True):
        if text:
            found.setdefault(shape, text[0])
    found[bytes(drawn.height)] = " "
    return found, drawn.height


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
