"""QR codes (ISO/IEC 18004), as inline SVG and as text for a screen of cells.

The symbol is made by segno; drawing it is ours, for the page must load nothing and
the console has 256 glyphs only: full, upper-half and lower-half block and space.
"""

from __future__ import annotations

from typing import Final

from markupsafe import Markup

QUIET: Final = 4
"""Modules of light around the symbol (ISO/IEC 18004, section 6.3.8)."""
FULL, UPPER, LOWER, NONE = "█", "▀", "▄", " "


def modules(content: str, level: str = "m") -> tuple[tuple[bool, ...], ...]:
    """The symbol's modules row by row, True dark, without the light around it.

    Raises ValueError when the content does not fit into the largest symbol.
    """
    import segno

    # Without the mark of its encoding (ECI) a reader has to guess at letters beyond ASCII.
    beyond = not content.isascii()
    encoding = "utf-8" if beyond else None
    made = segno.make_qr(content, error=level, boost_error=False, encoding=encoding, eci=beyond)
    return tuple(tuple(bool(module) for module in row) for row in made.matrix)


def qr_svg(content: str, title: str) -> Markup:
    """The symbol as one inline SVG image, dark on light in every colour scheme."""
    rows = modules(content)
    side = len(rows) + 2 * QUIET
    path = "".join(_spans(y, row) for y, row in enumerate(rows))
    # The name of the image is escaped by Markup.format.
    return Markup(
        '<svg class="qr" viewBox="0 0 {side} {side}" width="{px}" height="{px}" role="img" '
        'aria-label="{title}" shape-rendering="crispEdges">'
        '<rect width="{side}" height="{side}" fill="#fff"/><path fill="#000" d="{path}"/></svg>'
    ).format(side=side, px=4 * side, title=title, path=path)


def _spans(y: int, row: tuple[bool, ...]) -> str:
    """Runs of dark modules of one row as rectangles."""
    drawn, x = [], 0
    while x < len(row):
        start = x
        while x < len(row) and row[x]:
            x += 1
        if x > start:
            drawn.append(f"M{start + QUIET} {y + QUIET}h{x - start}v1h-{x - start}z")
        x += 1
    return "".join(drawn)


def qr_lines(content: str, columns: int, rows: int) -> tuple[str, ...] | None:
    """The symbol for light text on a dark screen, two modules to a cell; None: no room.

    A block is a light module. The least error correction is taken, for a screen does
    not get dirty, and a light margin of two modules where four have no room.
    """
    try:
        dark = modules(content, "l")
    except ValueError:
        return None
    for quiet in (QUIET, 2):
        side = len(dark) + 2 * quiet
        if side <= columns and (side + 1) // 2 <= rows:
            return _cells(dark, quiet)
    return None


def _cells(dark: tuple[tuple[bool, ...], ...], quiet: int) -> tuple[str, ...]:
    side = len(dark) + 2 * quiet

    def light(x: int, y: int) -> bool:
        inside = quiet <= x < side - quiet and quiet <= y < side - quiet
        return not (inside and dark[y - quiet][x - quiet])

    glyphs = {(True, True): FULL, (True, False): UPPER, (False, True): LOWER, (False, False): NONE}
    return tuple(
        "".join(glyphs[light(x, y), y + 1 < side and light(x, y + 1)] for x in range(side))
        for y in range(0, side, 2)
    )
