"""What attacks on commands stand on: a shop drive, and a home of their own."""

from __future__ import annotations

from pathlib import Path

import pytest

from livecheck.casefile import Shop
from tests.hostile import drives


@pytest.fixture
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands keep their index here, and those of another process run these sources."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("PYTHONPATH", str(drives.REPO))


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop drive with something of everything on it."""
    return drives.drive(tmp_path / "drive")
