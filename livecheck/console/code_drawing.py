"""A QR code in whole cells. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck.console.glyphs import FULL

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
