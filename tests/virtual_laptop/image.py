"""The stick's image for tests that boot it: built without firmware when none is as new."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path
from typing import Final

from tests.virtual_laptop.stick import CHECKOUT

IMAGE: Final = CHECKOUT / "image-build/livecheck-amd64.img"
SOURCES: Final = ("livecheck", "shared", "image-build", "pyproject.toml")


def wanted() -> Path:
    """The image LIVECHECK_IMAGE names, else one as new as the sources; may take minutes."""
    named = os.environ.get("LIVECHECK_IMAGE")
    if named:
        return Path(named)
    if not IMAGE.exists() or IMAGE.stat().st_mtime < _newest(*SOURCES):
        build = CHECKOUT / "image-build/build"
        subprocess.run(["bash", build, "--without-firmware", "--output", IMAGE], check=True)
    return IMAGE


def _newest(*names: str) -> float:
    """When the newest of the sources was written, in seconds since 1970."""
    files = (
        file
        for name in names
        for file in [CHECKOUT / name, *(CHECKOUT / name).rglob("*")]
        if file.is_file() and file.suffix in ("", ".py", ".toml", ".c", ".cfg", ".html")
    )
    return max(file.stat().st_mtime for file in files)
