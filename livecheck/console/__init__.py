"""The console app: screens over the same functions the command line calls."""

from __future__ import annotations

import codecs
import contextlib
import functools
import os
import sys
from pathlib import Path
from typing import Final

QUIET: Final = {
    "TEXTUAL_ANIMATIONS": "none",
    "TEXTUAL_SMOOTH_SCROLL": "0",
    "TEXTUAL_DISABLE_KITTY_KEY": "1",
}
"""What a virtual terminal swallows or garbles, left out."""

AHEAD: Final = -5
"""Added to the niceness (nice(2)) where that is allowed: a key goes before any test."""

RAW_CONSOLE: Final = {"TEXTUAL_COLOR_SYSTEM": "standard", "TEXTUAL_FPS": "30"}
"""For TERM=linux: sixteen colours, and no more frames than a framebuffer draws in time;
half as many would let a key wait longer."""


def run(shop: Path | None, spoke: bool = False, language: str | None = None) -> int:
    """Run the console until the technician leaves; returns the exit status.

    ``spoke``: the flow without a screen comes before it, and the screen was asked for.
    ``language``: None: what the shop's file says.
    Textual reads its settings when it is first imported, so they are set before.
    """
    settings = {**QUIET, **(RAW_CONSOLE if os.environ.get("TERM") == "linux" else {})}
    for name, value in settings.items():
        os.environ.setdefault(name, value)
    with contextlib.suppress(PermissionError):
        os.nice(AHEAD)
    from textual.drivers import linux_driver

    from livecheck.console.app import Console
    from livecheck.console.waiting import on_own_screen

    # A serial line's noise, or a terminal of other letters, would end the program.
    heedless = functools.partial(codecs.getincrementaldecoder("utf-8"), errors="replace")
    vars(linux_driver)["getincrementaldecoder"] = lambda name: heedless
    app = Console(shop, may_speak=not spoke and on_own_screen(), language=language)
    status = app.run(mouse=False) or 0
    if app.speaks is None:
        return status
    return run_blind(shop, because=app.speaks, language=language)


def run_blind(
    shop: Path | None,
    source: Path | None = None,
    because: str | None = None,
    language: str | None = None,
) -> int:
    """The same flow spoken; then the console, where its screen is wanted.

    ``because``: why it begins by itself (``blind_start.why``). ``language``: None: what the shop's
    file says.
    """
    from livecheck.console import blind
    from livecheck.languages import ENGLISH, adopt

    adopt(language or ENGLISH)
    to_screen = blind.run(shop, source, because, language)
    on_terminal = sys.stdin.isatty() and sys.stdout.isatty()
    return run(shop, spoke=True, language=language) if to_screen and on_terminal else 0
