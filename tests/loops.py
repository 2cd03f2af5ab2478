"""Loop devices over sparse files, for tests that need a block device of this machine."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


@contextmanager
def loop_device(folder: Path, size: int) -> Iterator[str]:
    """Path of a loop device of ``size`` bytes, its file in ``folder``; skips where none can be."""
    backing = folder / "disk"
    backing.touch()
    os.truncate(backing, size)
    made = subprocess.run(
        ["losetup", "--find", "--show", str(backing)], capture_output=True, text=True, check=False
    )
    if made.returncode:
        pytest.skip(f"no loop device here: {made.stderr.strip()}")
    node = made.stdout.strip()
    try:
        yield node
    finally:
        subprocess.run(["losetup", "--detach", node], check=True)
