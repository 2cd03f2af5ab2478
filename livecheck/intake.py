"""The intake sheet: what was told and seen when the machine came in, and notes since. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from livecheck.records import IntakeRow, ToldLine

NOTE: Final = "note"
"""Words about anything: each stands beside those before it."""
OFTEN: Final = "often"
NOTE_TITLE: Final = "Note"


def with_told(before: Sequence[ToldLine], new: Iterable[ToldLine]) -> tuple[ToldLine, ...]:
    """The lines with new ones: one line for each row, the last words count, none take it away."""
    rows = {line.about: line for line in before if line.about != NOTE}
    notes = [line for line in before if line.about == NOTE]
    for line in new:
        if line.about == NOTE:
            notes += [line] if line not in notes else []
        else:
            rows[line.about] = line
    return (*(line for line in rows.values() if line.words), *notes)


def would_show(told: Iterable[ToldLine], row: IntakeRow, hours: float) -> float | None:
    """How likely a fault that shows as often as told shows within so many hours.

    Of a Poisson process: 1 - exp(-hours / time between). None: how often was not told.
    """
    words = next((line.words for line in told if line.about == row.about), None)
    between = dict(zip(row.choices, row.hours, strict=False)).get(words or "")
    return None if between is None else 1.0 - math.exp(-hours / between)


def in_words(
    told: Iterable[ToldLine], sheet: Mapping[str, IntakeRow]
) -> tuple[tuple[str, str], ...]:
    """Title and words of each line, in the order of the sheet, notes last."""
    lines = list(told)
    order = {about: n for n, about in enumerate(sheet)}
    lines.sort(key=lambda line: order.get(line.about, len(order)))
    return tuple((_title(line.about, sheet), line.words) for line in lines)


def _title(about: str, sheet: Mapping[str, IntakeRow]) -> str:
    return sheet[about].title if about in sheet else NOTE_TITLE if about == NOTE else about
