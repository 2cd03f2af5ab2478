"""Keyboards, surfaces and test patterns as characters of a plain terminal. Pure."""

from __future__ import annotations

from typing import Final

from livecheck.guided.steps import Keys, ScreenPattern, Trace

CLEAR: Final = "\x1b[0m\x1b[2J\x1b[H"
BACKGROUNDS: Final = {"black": 40, "red": 41, "green": 42, "blue": 44, "white": 47}
SHADES: Final = " ░▒█"
"""What every console font has between nothing and a full cell."""


def keyboard(picture: Keys) -> str:
    """Keys as boxes of characters: ``[A]`` open, ``#A#`` seen, ``!A!`` trouble."""
    marks = {"open": ("[", "]"), "down": ("#", "#"), "seen": ("#", "#"), "trouble": ("!", "!")}
    rows: dict[int, list[str]] = {}
    for key in picture.keys:
        left, right = marks[key.state]
        rows.setdefault(key.row, []).append(f"{left}{key.label}{right}")
    return "\n".join(f"  {' '.join(rows[n])}" for n in sorted(rows))


def trace(picture: Trace) -> str:
    """A surface as rows of characters."""
    return "\n".join("  " + "".join("#" if c else "." for c in row) for row in picture.cells)


def paint(pattern: ScreenPattern, width: int, height: int) -> str:
    """A test pattern in characters and the eight colours every console has."""
    if pattern.kind == "field":
        return f"\x1b[{BACKGROUNDS[pattern.colour]}m\x1b[2J\x1b[H"
    if pattern.kind == "grid":
        rows = ["┼───" * (width // 4 + 1) if y % 2 == 0 else "│   " * (width // 4 + 1)
                for y in range(height - 1)]  # fmt: skip
    else:
        bar = max(2, width // 8) if pattern.kind == "steps" else 1
        # Bars stand apart; a gradient runs through.
        line = "".join(
            " " if bar > 1 and x % bar == 0 else SHADES[x // bar * bar * len(SHADES) // width]
            for x in range(width)
        )
        rows = [line] * (height - 1)
    return CLEAR + "\n".join(row[:width] for row in rows)
