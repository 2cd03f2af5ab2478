"""What a raw Linux console can draw, held against the cells of a screen.

Outside sources: the glyph tables of Debian's console fonts (package
console-setup-linux), and the colour folding of the kernel's virtual terminal
(drivers/tty/vt/vt.c: eight backgrounds, bright foreground by the intensity bit).
"""

from __future__ import annotations

import importlib.resources
from collections.abc import Iterator
from pathlib import Path

import pytest
from rich.color import ColorSystem
from textual.app import App
from textual.pilot import Pilot

from livecheck import demo
from livecheck.console.frame import KeyLine
from tests.console.psf import characters

FONT = "Lat15-Fixed16"
SIZES = [
    (80, 25),
    pytest.param((160, 50), marks=pytest.mark.slow),
    pytest.param((170, 48), marks=pytest.mark.slow),
]
"""Cells: the plain text console; a large screen; 1366 by 768 dots with a font of 8 by 16."""


def drawn(app: App[int]) -> Iterator[tuple[str, int, int]]:
    """Every cell of the screen: character, foreground, background as VT colours 0-15."""
    for strip in app.screen._compositor.render_strips():
        for segment in strip:
            style = segment.style
            if style is None or segment.control:
                continue
            ink, paper = style.color, style.bgcolor
            front = 7 if ink is None else ink.downgrade(ColorSystem.STANDARD).number
            back = 0 if paper is None else paper.downgrade(ColorSystem.STANDARD).number
            front = 7 if front is None else front
            back = 0 if back is None else back
            if style.reverse:
                front, back = back, front
            for char in segment.text:
                yield char, front, back & 7


def shown(app: App[int]) -> list[str]:
    """The lines of the screen."""
    return [
        "".join(segment.text for segment in strip if not segment.control)
        for strip in app.screen._compositor.render_strips()
    ]


def laid_out(app: App[int]) -> bool:
    """Whether the screen in front was drawn at all; a new one takes a moment."""
    return len(shown(app)) == app.size.height


def assert_holds(app: App[int]) -> None:
    """No glyph the font lacks, no ink on paper of its own colour, nothing off the edge."""
    font = characters(FONT)
    for char, front, back in drawn(app):
        if char.isspace():
            continue
        assert char in font, f"{char!r} (U+{ord(char):04X}) is not in {FONT}"
        assert front != back, f"{char!r} is drawn in colour {front} on {back}"
    lines = shown(app)
    assert len(lines) == app.size.height
    assert all(len(line) == app.size.width for line in lines)
    for widget in app.screen.query("*"):
        assert not widget.show_horizontal_scrollbar, f"{widget} is wider than the screen"
        if widget.display and widget.styles.dock == "none":
            assert widget.region.right <= app.size.width, f"{widget} runs off the edge"
    for keys in app.screen.query(KeyLine):
        whole = " ".join(" ".join(lines[-keys.size.height - 1 :]).split())
        for entry in keys.entries:
            assert " ".join(entry.split()) in whole, f"{entry} is not to be seen"


async def until(pilot: Pilot[int], kind: type, seconds: float = 60) -> None:
    """Wait for a screen, without guessing how long it takes."""
    for _ in range(int(seconds / 0.05)):
        await pilot.pause(0.05)
        if isinstance(pilot.app.screen, kind) and laid_out(pilot.app):
            await pilot.pause()
            return
    seen = "\n".join(shown(pilot.app))
    raise AssertionError(f"{kind.__name__} never came; shown is {pilot.app.screen}:\n{seen}")


async def until_shown(pilot: Pilot[int], words: str, seconds: float = 60) -> None:
    """Wait for words on the screen."""
    for _ in range(int(seconds / 0.05)):
        await pilot.pause(0.05)
        if words in " ".join(" ".join(shown(pilot.app)).split()):
            return
    seen = "\n".join(shown(pilot.app))
    raise AssertionError(f"{words!r} never came; shown is\n{seen}")


def capture_of(story: int, run: int, folder: Path) -> Path:
    """A run of the demo, as a capture file on disk."""
    name = demo.stories()[story].runs[run].capture
    file = folder / name
    file.write_bytes(importlib.resources.files("livecheck.demo").joinpath(name).read_bytes())
    return file
