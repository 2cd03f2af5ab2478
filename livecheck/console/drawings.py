"""Meters and their courses in glyphs that every console font holds. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from rich.cells import set_cell_size

from livecheck import wording
from livecheck.console.glyphs import FAINT, FULL, HALF
from livecheck.wording import clean, figure

if TYPE_CHECKING:
    from livecheck.meters import Gauge, Stretch

MARK: Final = "|"
"""Where a limit stands."""
STATES: Final = ("near", "over", "lost")
"""Of a meter that is not ordinary."""
NAME_WIDTH: Final = 26
TEXT_WIDTH: Final = 14
STATE_WIDTH: Final = 11
AXIS_WIDTH: Final = 8


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
    name, text = column(gauge.name, NAME_WIDTH), column(gauge.text, TEXT_WIDTH)
    drawn = bar(gauge.share, gauge.limit, max(0, room - 1))
    state = wording.text(f"metered.{gauge.state}") if gauge.state in STATES else ""
    line = f"{name}{text}{drawn} {state}"
    return set_cell_size(line, width).rstrip()


def column(words: str, width: int) -> str:
    """Words in so many cells, the last of them blank: a sign may take two cells, or none."""
    return set_cell_size(clean(words), width - 1) + " "


def course(columns: Sequence[Stretch | None], height: int) -> list[str]:
    """Stretchs of a channel, newest at the right, as rows with the scale at the left.

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
