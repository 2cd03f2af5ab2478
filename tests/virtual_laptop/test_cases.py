"""A handful of the cases, played with the image; minutes each.

The image is the one LIVECHECK_IMAGE names, else image-build/livecheck-amd64.img, which
is built without firmware when the sources are newer.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path
from typing import Final

import pytest

from tests.virtual_laptop.play import play
from tests.virtual_laptop.scenarios import BY_NAME
from tests.virtual_laptop.stick import CHECKOUT

pytestmark = pytest.mark.boot
HANDFUL: Final = ("drive-medium", "sata-port", "bit-in-module")
SURE: Final = 0.9
SOURCES: Final = ("livecheck", "shared", "image-build", "pyproject.toml")


def newest(*names: str) -> float:
    """When the newest of the sources was written, in seconds since 1970."""
    files = (
        file
        for name in names
        for file in [CHECKOUT / name, *(CHECKOUT / name).rglob("*")]
        if file.is_file() and file.suffix in ("", ".py", ".toml", ".c", ".cfg", ".html")
    )
    return max(file.stat().st_mtime for file in files)


@pytest.fixture(scope="module")
def image() -> Path:
    named = os.environ.get("LIVECHECK_IMAGE")
    if named:
        return Path(named)
    file = CHECKOUT / "image-build/livecheck-amd64.img"
    if not file.exists() or file.stat().st_mtime < newest(*SOURCES):
        build = CHECKOUT / "image-build/build"
        subprocess.run(["bash", build, "--without-firmware", "--output", file], check=True)
    return file


@pytest.mark.parametrize("name", HANDFUL)
def test_case_comes_to_the_right_side(name: str, image: Path, tmp_path: Path) -> None:
    scenario = BY_NAME[name]
    played = play(image, tmp_path / name, scenario.hidden, scenario.starts)
    found = played.location
    assert (played.writes, played.changed) == (0, ()), "an internal drive was written to"
    assert found["runs"] == len(scenario.starts)
    wrong = [c for c in found["candidates"] if c["side"] not in (scenario.side, "undetermined")]
    assert all(c["probability"] <= SURE for c in wrong), wrong
    assert found["side"] == scenario.side, found["candidates"][:4]
