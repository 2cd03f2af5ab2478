"""The wheel of the image tells which version, day and commit it was built from."""

from __future__ import annotations

import shutil
import subprocess
import tomllib
import zipfile
from pathlib import Path
from typing import Final

import pytest
from packaging.version import Version

from livecheck import release

CHECKOUT: Final = Path(__file__).parents[2]
BUILD: Final = (
    '. "$1"; WORK=$2 SOURCE_DATE_EPOCH=1767225600 FULL_VERSION=$(full_version); make_wheel'
)
"""1767225600 is 2026-01-01T00:00:00Z, by date(1)."""


@pytest.mark.slow
def test_it_tells_version_day_and_commit(tmp_path: Path) -> None:
    (tmp_path / "wheels").mkdir()
    words = ["bash", "-c", BUILD, "-", str(CHECKOUT / "image-build" / "build"), str(tmp_path)]
    subprocess.run(words, check=True, capture_output=True, timeout=300)
    (wheel,) = (tmp_path / "wheels").glob("livecheck-*.whl")
    with zipfile.ZipFile(wheel) as kept:
        (about,) = (name for name in kept.namelist() if name.endswith("dist-info/METADATA"))
        lines = kept.read(about).decode().splitlines()
        module = kept.read("livecheck/__init__.py").decode()
        pages = [
            name for name in kept.namelist() if name.endswith("share/man/man1/livecheck-run.1")
        ]
    told = Version(next(line for line in lines if line.startswith("Version: ")).split()[1])
    project = tomllib.loads((CHECKOUT / "pyproject.toml").read_text("utf-8"))["project"]
    assert told.public == project["version"]
    day, _, commit = str(told.local).partition(".")
    assert day == "20260101"
    checkout = str(CHECKOUT)
    head = ["git", "-C", checkout, "-c", f"safe.directory={checkout}", "rev-parse", "HEAD"]
    if shutil.which("git") is None:
        assert commit == ""
    else:
        there = subprocess.run(head, capture_output=True, text=True, check=False)
        assert there.stdout.startswith(commit) and (commit or there.returncode)
    assert len(pages) == 1
    assert f'__version__: Final = "{told}"' in module
    shown = f"{told.public} (2026-01-01, {commit})" if commit else f"{told.public} (2026-01-01)"
    assert release.told(str(told)) == shown
