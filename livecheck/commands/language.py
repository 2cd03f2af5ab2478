"""The language that commands tell in: what they save, and what programs read, stays English."""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Final

from livecheck.languages import ENGLISH, speaking

_CHOSEN: Final[dict[str, str]] = {}


def choose(language: str | None) -> None:
    """What was asked for (``--language``); None: what the shop's file will say."""
    _CHOSEN.clear()
    if language is not None:
        _CHOSEN["asked"] = language


def at_shop(language: str) -> None:
    """What the shop's file says."""
    _CHOSEN["shop"] = language


def telling() -> AbstractContextManager[None]:
    """While something is told, and nothing saved."""
    return speaking(_CHOSEN.get("asked", _CHOSEN.get("shop", ENGLISH)))
