"""Shades of a cell that every console font holds."""

from __future__ import annotations

from typing import Final

FULL: Final = "█"
HALF: Final = "▒"
FAINT: Final = "░"
