"""Meters, courses, keyboards and surfaces in glyphs that every console font holds. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from livecheck.wording import clean, figure

if TYPE_CHECKING:
    from livecheck.guided import Keys, Pattern, Trace
    from livecheck.meters import Gauge, Stretch

FULL: Final = "█"
HALF: Final = "▒"
FAINT: Final = "░"
MARK: Final = "|"
"""Where a limit stands."""
STATES: Final = {"ordinary": "", "near": "NEAR LIMIT", "over": "OVER LIMIT", "lost": "LOST"}
NAME_WIDTH: Final = 26
TEXT_WIDTH: Final = 14
STATE_WIDTH: Final = 11
AXIS_WIDTH: Final = 8
KEY_MARKS: Final = {
    "open": ("[", "]"),
    "down": ("#", "#"),
    "seen": ("#", "#"),
    "trouble": ("!", "!"),
}


def bar(share: float | None, limit: float | None, width: int) -> str:
    """A share of a scale, with a mark at the limit; blank where there is nothing to draw."""
    if share is None or width < 1:
        return " " * max(0, width)
    filled = round(min(1.0, max(0.0, share)) * width)
    cells = [FULL if x < filled else FAINT for x in range(width)]
    if limit is not None:
        cells[min(width - 1, round(min(1.0, limit) * width))] = MARK
    return "".join(cells)


def meter(gauge: Gauge, width: int) -> str:
    """One meter as a line of at most ``width`` cells: name, value, bar, state in words."""
    room = width - NAME_WIDTH - TEXT_WIDTH - STATE_WIDTH
    name = clean(gauge.name)[: NAME_WIDTH - 1]
    text = clean(gauge.text)[: TEXT_WIDTH - 1]
    drawn = bar(gauge.share, gauge.limit, max(0, room - 1))
    line = f"{name:<{NAME_WIDTH}}{text:<{TEXT_WIDTH}}{drawn} {STATES.get(gauge.state, '')}"
    return line[:width].rstrip()


def course(columns: Sequence[Stretch | None], height: int) -> list[str]:
    """Columns of a channel, newest at the right, as rows with the scale at the left.

    A full block up to what was read last in the column's time, a fainter one up to the
    highest of it. Nothing was read: a blank column.
    """
    known = [column for column in columns if column is not None]
    if not known or height < 2:
        return []
    low, high = min(c.low for c in known), max(c.high for c in known)
    span = high - low or max(abs(high) * 0.1, 1.0)
    # A course that never moved is drawn in the middle of its scale.
    floor = low - span / 2 if high == low else low
    rows = []
    for y in range(height):
        level = floor + span * (height - 1 - y) / (height - 1)
        label = figure(level) if y in (0, height // 2, height - 1) else ""
        cells = "".join(_cell(column, level, span / (height - 1)) for column in columns)
        rows.append(f"{label:>{AXIS_WIDTH - 2}} │{cells}".rstrip())
    return rows


def _cell(column: Stretch | None, level: float, step: float) -> str:
    if column is None:
        return " "
    # A row stands for the values around its level.
    edge = level - step / 2
    if column.last >= edge:
        return FULL
    return HALF if column.high >= edge else " "


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


def pattern(wanted: Pattern, width: int, height: int) -> tuple[list[str], str]:
    """Rows that fill the screen, and the style they are drawn in."""
    plain = "ansi_bright_white on ansi_black"
    if wanted.sort == "field":
        cell, style = FIELDS.get(wanted.colour, FIELDS["white"])
        return [cell * width] * height, style
    if wanted.sort == "grid":
        lines = ("┼───" * (width // 4 + 1), "│   " * (width // 4 + 1))
        return [lines[y % 2][:width] for y in range(height)], plain
    shades = (" ", FAINT, HALF, FULL)
    if wanted.sort == "steps":
        each = max(1, width // (2 * len(shades)))
        row = "".join(shades[min(len(shades) - 1, x // each // 2)] for x in range(width))
    else:
        row = "".join(shades[x * len(shades) // width] for x in range(width))
    return [row] * height, plain


QUIET_MODULES: Final = (4, 2)
"""Light around a code: four modules by the standard (ISO/IEC 18004), two where there is no
room for more; a light margin of two is what cameras still take (common practice)."""


def code(dark: Sequence[Sequence[bool]], columns: int, rows: int) -> list[str]:
    """A QR code, light as blocks, each module two cells wide; empty where there is no room.

    The console's fonts have no half blocks, so that a module takes a whole line.
    """
    for quiet in QUIET_MODULES:
        side = len(dark) + 2 * quiet
        if side > rows or 2 * side > columns:
            continue
        light = FULL * 2
        edge = [light * side] * quiet
        margin = light * quiet
        inner = [margin + "".join("  " if m else light for m in row) + margin for row in dark]
        return [*edge, *inner, *edge]
    return []
