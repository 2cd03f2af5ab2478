"""The index of one shop drive: where on this computer it lies.

None lies on the drive: whoever writes to the drive would write what this computer's
database then runs and believes.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from livecheck.case_index.index import Index, OnProgress, forget
from livecheck.case_index.reading import Judge
from livecheck.casefile import Shop

IN_MEMORY: Final = Path(":memory:")
"""SQLite's own name for no file at all (sqlite.org, "In-Memory Databases")."""
MOST_KEPT: Final = 8
"""Indexes of other drives and folders kept in the cache."""


@contextlib.contextmanager
def caught_up(
    shop: Shop,
    judge: Judge,
    *,
    thorough: bool = False,
    on_progress: OnProgress = lambda done, of: None,
    most: int | None = None,
) -> Iterator[Index | None]:
    """The index of a shop drive, caught up; None when more than ``most`` folders are unread.

    Raises OSError when the cases cannot be listed, DamagedRecord when their folder is
    none, sqlite3.Error when this computer can keep no index at all.
    """
    cases = shop.cases_folder
    with _place(cases) as file:
        try:
            index = Index(file, cases, judge)
            change = index.catch_up(thorough, on_progress, most)
        except sqlite3.Error:
            # Held by a bench that hangs, or no place for a file: it lives as long as the question.
            index = Index(IN_MEMORY, cases, judge)
            change = index.catch_up(thorough, on_progress, most)
        try:
            yield index if change is not None else None
        finally:
            index.close()


@contextlib.contextmanager
def _place(cases: Path) -> Iterator[Path]:
    """Where the index of these cases lies on this computer."""
    name = hashlib.sha256(os.fsencode(cases.resolve())).hexdigest()[:16]
    told = Path(os.environ.get("XDG_CACHE_HOME", ""))  # Relative: to be ignored, by the XDG spec.
    try:
        cache = (told if told.is_absolute() else Path("~/.cache").expanduser()) / "livecheck"
        cache.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=cache):
            pass
    except (OSError, RuntimeError):
        # No home, or none to write to: the index lives as long as the question.
        with tempfile.TemporaryDirectory(prefix="livecheck-case-index-") as scratch:
            yield Path(scratch) / f"{name}.sqlite"
        return
    file = cache / f"case-index-{name}.sqlite"
    _tidy(cache, file)
    yield file


def _tidy(cache: Path, but: Path) -> None:
    """Drop the indexes that were not used for longest."""
    with contextlib.suppress(OSError):
        found = [file for file in cache.glob("case-index-*.sqlite") if file != but]
        found.sort(key=lambda file: file.stat().st_mtime)
        for file in found[:-MOST_KEPT]:
            forget(file)
