"""Colours and glyphs that hold on the raw Linux console.

The virtual terminal has eight background colours, folds bright ones onto them,
and its 256-glyph fonts lack the eighth and half blocks Textual draws borders
and scroll bars with. So: a theme of the terminal's own colours, black on no
black, solid borders, and scroll bars whose ends are whole cells. Meaning is
always in a word; colour only helps.
"""

from __future__ import annotations

from typing import ClassVar, Final

from textual.scrollbar import ScrollBar, ScrollBarRender
from textual.theme import Theme

BENCH: Final = Theme(
    name="bench",
    ansi=True,
    primary="ansi_cyan",
    secondary="ansi_blue",
    warning="ansi_yellow",
    error="ansi_red",
    success="ansi_green",
    accent="ansi_cyan",
    foreground="ansi_white",
    background="ansi_black",
    surface="ansi_black",
    panel="ansi_black",
    boost="ansi_black",
    dark=True,
    variables={
        "ansi-background": "ansi_black",
        "ansi-foreground": "ansi_white",
        "border": "ansi_cyan",
        "border-blurred": "ansi_white",
        "block-cursor-foreground": "ansi_black",
        "block-cursor-background": "ansi_cyan",
        "block-cursor-blurred-foreground": "ansi_black",
        "block-cursor-blurred-background": "ansi_white",
        "block-hover-background": "ansi_black",
        "footer-foreground": "ansi_white",
        "footer-key-foreground": "ansi_cyan",
        "input-cursor-background": "ansi_white",
        "input-cursor-foreground": "ansi_black",
        "input-cursor-text-style": "none",
        "input-selection-background": "ansi_cyan",
        "input-selection-foreground": "ansi_black",
        "screen-selection-background": "ansi_cyan",
        "screen-selection-foreground": "ansi_black",
        "scrollbar": "ansi_cyan",
        "scrollbar-hover": "ansi_cyan",
        "scrollbar-active": "ansi_cyan",
        "scrollbar-background": "ansi_black",
        "scrollbar-background-hover": "ansi_black",
        "scrollbar-background-active": "ansi_black",
        "scrollbar-corner-color": "ansi_black",
    },
)


class WholeCellBar(ScrollBarRender):
    """A scroll bar without the fractions of a cell that console fonts do not hold."""

    VERTICAL_BARS: ClassVar[list[str]] = [" "]
    HORIZONTAL_BARS: ClassVar[list[str]] = [" "]


def use_console_glyphs() -> None:
    """Make every scroll bar of this process draw whole cells."""
    ScrollBar.renderer = WholeCellBar
