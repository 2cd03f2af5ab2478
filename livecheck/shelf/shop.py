"""The index of one shop drive: where it lies, and how it gets there.

Each computer keeps its own in its cache. On the drive lies only a copy for benches
that start with an empty cache, written whole when much was read.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from livecheck.casefile import Shop, atomic
from livecheck.shelf.index import Index, OnProgress
from livecheck.shelf.reading import Judge

COPY: Final = ".shelf.sqlite"
"""The copy on the drive, beside the cases."""
COPY_FROM: Final = 500
"""Folders read at once that make a new copy worth its writing."""
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

    A broken index is thrown away and made anew. Raises OSError when the cases cannot
    be listed, sqlite3.Error when this computer can keep no index at all.
    """
    cases = shop.cases_folder
    with _place(cases) as file:
        _bring(cases / COPY, file)
        try:
            index = Index(file, cases)
            change = index.catch_up(judge, thorough, on_progress, most)
        except sqlite3.DatabaseError:
            _forget(file)
            index = Index(file, cases)
            change = index.catch_up(judge, thorough, on_progress, most)
        try:
            if change is not None and change.read >= COPY_FROM:
                _leave_copy(index, cases / COPY)
            yield index if change is not None else None
        finally:
            index.close()


@contextlib.contextmanager
def _place(cases: Path) -> Iterator[Path]:
    """Where the index of these cases lies on this computer."""
    name = hashlib.sha256(os.fsencode(cases.resolve())).hexdigest()[:16]
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path("~/.cache").expanduser()) / "livecheck"
    try:
        cache.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=cache):
            pass
    except (OSError, RuntimeError):
        # No home, or none to write to: the index lives as long as the question.
        with tempfile.TemporaryDirectory(prefix="livecheck-shelf-") as scratch:
            yield Path(scratch) / f"{name}.sqlite"
        return
    file = cache / f"shelf-{name}.sqlite"
    _tidy(cache, file)
    yield file


def _tidy(cache: Path, but: Path) -> None:
    """Drop the indexes that were not used for longest."""
    with contextlib.suppress(OSError):
        found = [file for file in cache.glob("shelf-*.sqlite") if file != but]
        found.sort(key=lambda file: file.stat().st_mtime)
        for file in found[:-MOST_KEPT]:
            _forget(file)


def _bring(copy: Path, file: Path) -> None:
    """Start from the drive's copy where this computer has no index yet."""
    if file.exists():
        return
    part = file.with_name(f"{file.name}.{os.getpid()}.new")
    try:
        shutil.copyfile(copy, part)
        part.replace(file)
    except OSError:
        with contextlib.suppress(OSError):
            part.unlink()


def _leave_copy(index: Index, copy: Path) -> None:
    """Put a copy on the drive. A drive that takes none costs others time, nothing else."""
    with contextlib.suppress(OSError, sqlite3.Error), tempfile.TemporaryDirectory() as scratch:
        whole = Path(scratch) / COPY
        index.copy_to(whole)
        atomic.save_file(copy, whole)


def _forget(file: Path) -> None:
    for ending in ("", "-wal", "-shm"):
        with contextlib.suppress(OSError):
            file.with_name(file.name + ending).unlink()
