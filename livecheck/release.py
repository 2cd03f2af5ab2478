"""Which livecheck this is, as first screen, boot menu, reports and ``--version`` tell it."""

from __future__ import annotations

import re
from typing import Final

from livecheck import __version__

_BUILT: Final = re.compile(r"([0-9.]+)\+([0-9]{4})([0-9]{2})([0-9]{2})(?:\.([0-9a-f]+))?", re.ASCII)
"""What the image's build writes: a local version (PEP 440) of day and commit."""


def told(version: str | None = None) -> str:
    """``0.1.0+20260301.1a2b3c4`` as ``0.1.0 (2026-03-01, 1a2b3c4)``; any other as it stands.

    None: this one.
    """
    version = version or __version__
    built = _BUILT.fullmatch(version)
    if built is None:
        return version
    number, year, month, day, commit = built.groups()
    return f"{number} ({year}-{month}-{day}{f', {commit}' if commit else ''})"
