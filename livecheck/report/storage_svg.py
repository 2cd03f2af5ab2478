"""Charts of a read test as inline SVG: latency over the span, latencies by their number.

Shapes tell things apart, not colours: full bars are typical requests, thin lines the
longest ones, crosses what could not be read. Each chart says in words what it shows.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from markupsafe import Markup, escape

from livecheck.records import BadRange, ReadFigures
from livecheck.wording import figure, quantity, size, text

WIDTH: Final = 640
LEFT: Final = 58
"""Room for the scale's words."""
TOP: Final = 8
HEIGHT: Final = 130
STRIP: Final = 16
"""Height of the strip that shows what could not be read."""
BETWEEN: Final = 2 ** (1 / 4)
"""Upper edges of neighbouring buckets are a quarter octave apart."""


def milliseconds(value: float) -> str:
    """``350 µs``, ``12 ms``, ``1.5 s``, with two or three digits."""
    if value >= 1000:
        return quantity(round(value / 1000, 2), "s")
    if value >= 1:
        return quantity(round(value, 1) if value < 10 else round(value), "ms")
    return quantity(round(value * 1000), "µs")


class Scale:
    """Milliseconds to heights above the chart's floor, by their logarithm."""

    def __init__(self, values: Sequence[float]) -> None:
        self.low = 10 ** math.floor(math.log10(min(values)))
        self.high = 10 ** math.ceil(math.log10(max(values) * 1.001))

    def height(self, value: float) -> float:
        """0 for the smallest decade's floor, HEIGHT for the largest one's top."""
        share = math.log10(max(value, self.low) / self.low) / math.log10(self.high / self.low)
        return min(1.0, share) * HEIGHT

    @property
    def decades(self) -> list[float]:
        """The lines of the scale."""
        count = round(math.log10(self.high / self.low))
        return [self.low * 10**n for n in range(count + 1)]


def span(figures: ReadFigures) -> Markup | None:
    """Typical and longest request over the span, and where nothing could be read."""
    known = [v for v in (*figures.medians, *figures.longest) if v]
    if not known or not figures.length:
        return None
    scale = Scale(known)
    step = (WIDTH - LEFT) / max(1, len(figures.medians))
    bars, whiskers = [], []
    for index, (middle, longest) in enumerate(
        zip(figures.medians, figures.longest or figures.medians, strict=False)
    ):
        x = LEFT + index * step
        if middle:
            high = max(1.0, scale.height(middle))
            bars.append(
                f'<rect x="{x + 1:.1f}" y="{TOP + HEIGHT - high:.1f}" width="{step - 2:.1f}" '
                f'height="{high:.1f}"/>'
            )
        if longest:
            y = TOP + HEIGHT - scale.height(longest)
            whiskers.append(f"M{x + 1:.1f} {y:.1f}h{step - 2:.1f}")
    label = text(
        "storage.chart-span",
        typical=milliseconds(_middle(figures)),
        longest=milliseconds(max(known)),
        bad=len([b for b in figures.bad if not b.recovered]),
    )
    return _svg(
        label,
        TOP + HEIGHT + STRIP + 22,
        _lines(scale),
        f'<g class="typical">{"".join(bars)}</g>',
        f'<path class="longest" d="{"".join(whiskers)}"/>',
        _strip(figures),
        _ends(figures, TOP + HEIGHT + STRIP + 16),
    )


def _middle(figures: ReadFigures) -> float:
    return next((ms for share, ms in figures.percentiles if share == 50.0), 0.0)


def _strip(figures: ReadFigures) -> str:
    """A strip of the span below the bars: crosses where something could not be read."""
    y = TOP + HEIGHT + 3
    box = (
        f'<rect class="track" x="{LEFT}" y="{y}" width="{WIDTH - LEFT - 1}" height="{STRIP - 4}"/>'
    )
    return box + "".join(_mark(figures, bad, y) for bad in figures.bad)


def _mark(figures: ReadFigures, bad: BadRange, y: float) -> str:
    room = WIDTH - LEFT - 8
    share = (bad.offset - figures.start) / figures.length
    x = LEFT + max(0.0, min(1.0, share)) * room
    width = max(6.0, bad.bytes / figures.length * room)
    if bad.recovered:
        return f'<rect class="weak" x="{x:.1f}" y="{y + 2}" width="{width:.1f}" height="8"/>'
    return (
        f'<path class="bad" d="M{x:.1f} {y + 1}h{width:.1f}v10h-{width:.1f}z'
        f'm0 0l{width:.1f} 10m0 -10l-{width:.1f} 10"/>'
    )


def _ends(figures: ReadFigures, y: float) -> str:
    first, last = figures.start, figures.start + figures.length
    return (
        f'<text x="{LEFT}" y="{y}">{escape(size(first))}</text>'
        f'<text class="end" x="{WIDTH - 1}" y="{y}">{escape(size(last))}</text>'
    )


def _lines(scale: Scale) -> str:
    """Lines at powers of ten with their milliseconds."""
    found = []
    for value in scale.decades:
        y = TOP + HEIGHT - scale.height(value)
        found.append(f'<path class="grid" d="M{LEFT} {y:.1f}H{WIDTH}"/>')
        words = escape(milliseconds(value))
        found.append(f'<text class="end" x="{LEFT - 5}" y="{y + 3.5:.1f}">{words}</text>')
    return "".join(found)


def histogram(figures: ReadFigures) -> Markup | None:
    """How many requests took how long; both axes by their logarithm, percentiles as lines."""
    counts = [(ms, number) for ms, number in figures.histogram if number and ms]
    if not counts:
        return None
    low = 10 ** math.floor(math.log10(counts[0][0] / BETWEEN))
    high = 10 ** math.ceil(math.log10(counts[-1][0] * 1.001))
    room = WIDTH - LEFT - 1
    most = max(number for _, number in counts)

    def x(ms: float) -> float:
        return LEFT + math.log10(max(ms, low) / low) / math.log10(high / low) * room

    bars = []
    for ms, number in counts:
        tall = max(3.0, math.log1p(number) / math.log1p(most) * (HEIGHT - 24))
        left, right = x(ms / BETWEEN), x(ms)
        bars.append(
            f'<rect x="{left + 0.5:.1f}" y="{TOP + HEIGHT - tall:.1f}" '
            f'width="{max(1.0, right - left - 1):.1f}" height="{tall:.1f}"/>'
        )
    decades = [low * 10**n for n in range(round(math.log10(high / low)) + 1)]
    axis = "".join(
        f'<path class="grid" d="M{x(ms):.1f} {TOP}v{HEIGHT}"/>'
        f'<text class="{"end" if ms == decades[-1] else "middle"}" x="{x(ms):.1f}" '
        f'y="{TOP + HEIGHT + 14}">{escape(milliseconds(ms))}</text>'
        for ms in decades
    )
    marks = "".join(
        f'<path class="percentile" d="M{x(ms):.1f} {TOP + 4 + 9 * n}V{TOP + HEIGHT}"/>'
        f'<text x="{min(x(ms) + 3, WIDTH - 34):.1f}" y="{TOP + 12 + 9 * n}">{share:g} %</text>'
        for n, (share, ms) in enumerate(figures.percentiles[:3])
    )
    label = text(
        "storage.chart-histogram",
        requests=sum(number for _, number in counts),
        shares=", ".join(
            f"{figure(share)} % {milliseconds(ms)}" for share, ms in figures.percentiles
        ),
    )
    return _svg(label, TOP + HEIGHT + 20, axis, f'<g class="typical">{"".join(bars)}</g>', marks)


def _svg(label: str, height: float, *content: str) -> Markup:
    return Markup(
        f'<svg class="chart" viewBox="0 0 {WIDTH} {height:g}" width="{WIDTH}" '
        f'height="{height:g}" role="img" aria-label="{escape(label)}" focusable="false">'
        f"{''.join(content)}</svg>"
    )
