"""A file system of its own for a drive that is too small (tmpfs(5))."""

from __future__ import annotations

import contextlib
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest


@contextlib.contextmanager
def mounted(path: Path, options: str) -> Iterator[None]:
    """It on a folder, which is there or is made. Skips the test where nothing may be mounted."""
    path.mkdir(exist_ok=True)
    words = ["mount", "-t", "tmpfs", "-o", options, "livecheck-test", str(path)]
    done = subprocess.run(words, capture_output=True, check=False)
    if done.returncode:
        pytest.skip(f"cannot be mounted here: {done.stderr.decode()[:100]}")
    try:
        yield
    finally:
        subprocess.run(["umount", str(path)], check=True)
