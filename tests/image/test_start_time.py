"""The first screen comes nearly as soon as a plain Debian's login prompt (minutes)."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Final

import pytest

pytest.importorskip("qemu.qmp", reason="qemu.qmp is not installed")
from tests.image import start_time

pytestmark = pytest.mark.boot
MOST: Final = 1.3
"""The bound set for this project: times the plain system's."""


def test_first_screen_against_a_login_prompt(image: Path, tmp_path: Path) -> None:
    missing = [tool for tool in ("mmdebstrap", "mksquashfs") if not shutil.which(tool)]
    if missing:
        pytest.skip(f"not here: {', '.join(missing)} (image-build/packages/build-image)")
    figures = start_time.measured(image, tmp_path)
    assert isinstance(figures["ratio"], float)
    assert figures["ratio"] <= MOST, figures
