"""Small inline charts. Each stands beside the figure it draws and is hidden from readers aloud.

Patterns, not colours, tell bars apart, so that they survive a grey printer.
"""

from __future__ import annotations

from typing import Final

from markupsafe import Markup

from livecheck.records import Side

_FILL: Final = {
    Side.DEVICE: "solid",
    Side.CONTROLLER: "hatched",
    Side.SOFTWARE: "dotted",
    Side.NO_FAULT: "hollow",
    Side.UNDETERMINED: "hollow",
}


def bar(share: float, side: Side | None = None, width: int = 120, height: int = 10) -> Markup:
    """A horizontal bar from 0 to 1, filled in the side's pattern."""
    filled = round(max(0.0, min(1.0, share)) * (width - 2), 1)
    fill = _FILL[side] if side else "solid"
    return Markup(
        f'<svg class="bar {fill}" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" aria-hidden="true" focusable="false">'
        f'<rect class="track" x=".5" y=".5" width="{width - 1}" height="{height - 1}"/>'
        f'<rect class="fill" x="1" y="1" width="{filled:g}" height="{height - 2}"/>'
        f"{_pattern(fill, filled, height)}</svg>"
    )


def _pattern(fill: str, filled: float, height: int) -> str:
    """Lines or dots drawn over the fill; plain shapes need no ids that could clash."""
    if fill == "hatched":
        starts = range(1, int(filled) - height + 3, 5)
        path = "".join(f"M{x} {height - 1}l{height - 2} -{height - 2}" for x in starts)
        return f'<path class="lines" d="{path}"/>' if path else ""
    if fill == "dotted":
        dots = range(4, int(filled), 6)
        return "".join(f'<circle class="dot" cx="{x}" cy="{height / 2:g}" r="1.5"/>' for x in dots)
    return ""


def balance(weight: float, most: float, width: int = 84, height: int = 10) -> Markup:
    """A bar from the middle: to the right speaks for the verdict, to the left against it."""
    middle = width / 2
    reach = max(-1.0, min(1.0, weight / most)) * (middle - 1) if most else 0.0
    start = middle if reach >= 0 else middle + reach
    kind = "for" if reach >= 0 else "against"
    return Markup(
        f'<svg class="balance {kind}" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" aria-hidden="true" focusable="false">'
        f'<rect class="fill" x="{start:.1f}" y="1.5" width="{abs(reach):.1f}" '
        f'height="{height - 3}"/>'
        f'<path class="axis" d="M{middle:g} 0v{height}"/></svg>'
    )


_ICONS: Final = {
    # A card lifted off its slot; a slot in a board; a window; a circle closed; one left open.
    Side.DEVICE: '<rect x="3" y="2" width="14" height="9"/><path d="M6 11v3M10 11v3M14 11v3"/>'
    '<path d="M2 18h16" class="thin"/>',
    Side.CONTROLLER: '<rect x="2" y="2" width="16" height="16"/>'
    '<path d="M6 7h8v4h-8zM6 14h3M11 14h3"/>',
    Side.SOFTWARE: '<rect x="2" y="3" width="16" height="14"/><path d="M2 7h16M5 11h6M5 14h9"/>',
    Side.NO_FAULT: '<circle cx="10" cy="10" r="8"/><path d="M6 10l3 3 5-6"/>',
    Side.UNDETERMINED: '<path d="M10 2a8 8 0 1 1-8 8" /><path d="M10 6v5M10 14v.5"/>',
}


def icon(side: Side) -> Markup:
    """The sign of a side; its name always stands beside it."""
    return Markup(
        '<svg class="icon" viewBox="0 0 20 20" width="20" height="20" aria-hidden="true" '
        f'focusable="false">{_ICONS[side]}</svg>'
    )
