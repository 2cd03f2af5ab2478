"""What ``tests/run.sh --fast`` leaves out as a whole: the files and folders in ``slow.txt``."""

from __future__ import annotations

from pathlib import Path
from typing import Final

TESTS: Final = Path(__file__).parent
LISTED: Final = tuple((TESTS / "slow.txt").read_text("utf-8").split())
"""Each is a path from ``tests/``; a single test of another file is marked where it stands."""


def takes_long(file: Path) -> bool:
    """Whether a file of tests is listed, or lies in a folder that is."""
    inside = file.relative_to(TESTS)
    return any(path.as_posix() in LISTED for path in (inside, *inside.parents))
