"""The console app: screens over the same functions the command line calls."""

from __future__ import annotations

import contextlib
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


def run(shop: Path | None) -> int:
    """Run the console until the technician leaves; returns the exit status.

    Textual reads its settings when it is first imported, so they are set before.
    """
    settings = {**QUIET, **(RAW_CONSOLE if os.environ.get("TERM") == "linux" else {})}
    for name, value in settings.items():
        os.environ.setdefault(name, value)
    with contextlib.suppress(PermissionError):
        os.nice(AHEAD)
    from livecheck.console.app import Console

    return Console(shop).run(mouse=False) or 0


def run_blind(shop: Path | None, source: Path | None) -> int:
    """The same flow spoken; then the console, where its screen is wanted."""
    from livecheck.console import blind

    to_screen = blind.run(shop, source)
    return run(shop) if to_screen and sys.stdin.isatty() and sys.stdout.isatty() else 0
