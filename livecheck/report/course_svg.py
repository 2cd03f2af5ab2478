"""Charts of meters over time as inline SVG: temperature, power, frequency, battery.

Dashes and the name at each line's end tell lines apart, not colours, so that a grey printer
loses nothing. The words beside a chart say its lowest and highest values.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

from markupsafe import Markup, escape

from livecheck.found_words import reworded
from livecheck.records import Course, Line
from livecheck.wording import clean, figure, text

WIDTH: Final = 640
LEFT: Final = 46
RIGHT: Final = 150
"""Room for the names at the lines' ends."""
TOP: Final = 14
HEIGHT: Final = 120
MOST_LINES: Final = 4
DASHES: Final = ("", "6 3", "2 3", "8 3 2 3")


def ticks(low: float, high: float, count: int = 4) -> list[float]:
    """Round values over a span: steps of 1, 2 or 5 times a power of ten."""
    span = max(high - low, 1e-9)
    rough = span / count
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(s * power for s in (1, 2, 5, 10) if s * power >= rough)
    first = math.floor(low / step + 1e-9)
    last = math.ceil(high / step - 1e-9)
    return [round(k * step, 9) for k in range(first, last + 1)]


def chart(course: Course, lines: Sequence[Line]) -> Markup | None:
    """Lines of one unit over a course's time; None when there is nothing to draw."""
    drawn = list(lines[:MOST_LINES])
    values = [v for line in drawn for v in line.values if v is not None]
    if not values or len(course.seconds) < 2:
        return None
    limits = [x.limit for x in drawn if x.limit is not None and x.limit < max(values) * 1.6]
    scale = ticks(min(values), max([*values, *limits]))
    low, high = scale[0], scale[-1] if scale[-1] > scale[0] else scale[0] + 1
    end = max(course.seconds[-1], 1e-9)

    def x(seconds: float) -> float:
        return LEFT + seconds / end * (WIDTH - LEFT - RIGHT)

    def y(value: float) -> float:
        return TOP + (high - value) / (high - low) * HEIGHT

    parts = [*_grid(scale, y), *_times(course, x)]
    if limits:
        at = y(min(limits))
        parts.append(f'<path class="limit" d="M{LEFT} {at:.1f}H{WIDTH - RIGHT}"/>')
        words = escape(text("meters.limit", value=figure(min(limits))))
        parts.append(f'<text x="{WIDTH - RIGHT + 4}" y="{at + 4:.1f}">{words}</text>')
    parts += _curves(course, drawn, x, y, [y(v) for v in limits[:1]])
    height = TOP + HEIGHT + 34
    return Markup(
        f'<svg class="chart" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" '
        f'role="img" aria-label="{escape(said(drawn))}">{"".join(parts)}</svg>'
    )


def said(lines: Sequence[Line]) -> str:
    """The lines in words: name, lowest, highest."""
    found = []
    for line in lines:
        values = [v for v in line.values if v is not None]
        if values:
            low, high = figure(min(values)), figure(max(values))
            name = reworded(line.name)
            words = text("meters.between", name=name, low=low, high=high, unit=line.unit)
            found.append(clean(words))
    return "; ".join(found)


def _grid(scale: Sequence[float], y: Callable[[float], float]) -> list[str]:
    parts = []
    for value in scale:
        parts.append(f'<path class="grid" d="M{LEFT} {y(value):.1f}H{WIDTH - RIGHT}"/>')
        parts.append(f'<text class="end" x="{LEFT - 5}" y="{y(value) + 4:.1f}">{value:g}</text>')
    return parts


def _times(course: Course, x: Callable[[float], float]) -> list[str]:
    base = TOP + HEIGHT
    parts = [f'<path class="axis" d="M{LEFT} {base}H{WIDTH - RIGHT}"/>']
    for seconds in ticks(0, course.seconds[-1], 5):
        if seconds <= course.seconds[-1]:
            at = x(seconds)
            parts.append(f'<text class="middle" x="{at:.1f}" y="{base + 14}">{seconds:g} s</text>')
    room = 0.0
    for seconds, step in course.steps:
        at = x(min(seconds, course.seconds[-1]))
        parts.append(f'<path class="step" d="M{at:.1f} {TOP}V{base}"/>')
        if at >= room:
            # Names that would run into each other are left to the table of probes.
            parts.append(
                f'<text class="what" x="{at + 2:.1f}" y="{base + 28}">{_word(step)}</text>'
            )
            room = at + 8 + 6.2 * len(_short(step))
    return parts


def _short(step: str) -> str:
    return step if len(step) <= 18 else f"{step[:17]}…"


def _word(step: str) -> str:
    return str(escape(clean(_short(step))))


def _curves(
    course: Course,
    lines: Sequence[Line],
    x: Callable[[float], float],
    y: Callable[[float], float],
    taken: list[float],
) -> list[str]:
    parts = []
    for number, line in enumerate(lines):
        path, pen = [], "M"
        for seconds, value in zip(course.seconds, line.values, strict=False):
            if value is None:
                pen = "M"
                continue
            path.append(f"{pen}{x(seconds):.1f} {y(value):.1f}")
            pen = "L"
        dash = f' stroke-dasharray="{DASHES[number]}"' if DASHES[number] else ""
        parts.append(f'<path class="curve"{dash} d="{"".join(path)}"/>')
        last = next(v for v in reversed(line.values) if v is not None)
        at = _free(y(last), taken)
        parts.append(
            f'<text x="{WIDTH - RIGHT + 4}" y="{at + 4:.1f}">'
            f"{escape(clean(_short(reworded(line.name))))}</text>"
        )
    return parts


def _free(wanted: float, taken: list[float]) -> float:
    """The nearest height below or at the wanted one at which no name stands yet."""
    at = wanted
    while any(abs(at - other) < 12 for other in taken):
        at += 3
    taken.append(at)
    return at
