"""Keyboards, surfaces and test patterns of the guided checks, in glyphs of any font. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from livecheck.console.glyphs import FAINT, FULL, HALF
from livecheck.wording import clean

if TYPE_CHECKING:
    from livecheck.guided import Keys, ScreenPattern, Trace

KEY_MARKS: Final = {
    "open": ("[", "]"),
    "down": ("#", "#"),
    "seen": ("#", "#"),
    "trouble": ("!", "!"),
}


def keyboard(picture: Keys, width: int) -> list[str]:
    """Keys as boxes of characters: ``[A]`` open, ``#A#`` seen, ``!A!`` trouble."""
    if not picture.keys:
        return []
    unit = max(3, min(6, int(width / max(k.left + k.width for k in picture.keys))))
    rows: dict[int, list[str]] = {}
    for key in picture.keys:
        row = rows.setdefault(key.row, [])
        at = int(key.left * unit)
        row.extend(" " * (at - len(row)))
        left, right = KEY_MARKS.get(key.state, KEY_MARKS["open"])
        inside = max(1, int(key.width * unit) - 2)
        label = clean(key.label)
        # F10 to F12 by their numbers, where three letters have no room.
        label = label[1:] if len(label) > inside and label[0] == "F" else label
        row[at:] = [*left, *f"{label[:inside]:<{inside}}", *right]
    return ["".join(rows[number])[:width] for number in sorted(rows)]


def surface(picture: Trace, width: int, height: int) -> list[str]:
    """A pad or screen: blocks where it was touched, dots where not yet."""
    cells = picture.cells
    if not cells or not cells[0]:
        return []
    across = max(1, min(4, width // len(cells[0])))
    rows = ["".join((FULL if c else ".") * across for c in row)[:width] for row in cells]
    down = max(1, min(2, height // len(rows)))
    return [row for row in rows for _ in range(down)][:height]


FIELDS: Final = {
    "black": (" ", "on ansi_black"),
    "white": (FULL, "ansi_bright_white on ansi_black"),
    "red": (" ", "on ansi_red"),
    "green": (" ", "on ansi_green"),
    "blue": (" ", "on ansi_blue"),
}
"""Pure colours: the dark ones of the console have one primary alone, the bright ones mix."""


def pattern(wanted: ScreenPattern, width: int, height: int) -> tuple[list[str], str]:
    """Rows that fill the screen, and the style they are drawn in."""
    plain = "ansi_bright_white on ansi_black"
    if wanted.kind == "field":
        cell, style = FIELDS.get(wanted.colour, FIELDS["white"])
        return [cell * width] * height, style
    if wanted.kind == "grid":
        lines = ("┼───" * (width // 4 + 1), "│   " * (width // 4 + 1))
        return [lines[y % 2][:width] for y in range(height)], plain
    shades = (" ", FAINT, HALF, FULL)
    if wanted.kind == "steps":
        each = max(1, width // (2 * len(shades)))
        row = "".join(shades[min(len(shades) - 1, x // each // 2)] for x in range(width))
    else:
        row = "".join(shades[x * len(shades) // width] for x in range(width))
    return [row] * height, plain
