"""Saving so that a file is either the old one or the new one, whole.

POSIX gives the order: write a temporary file beside the target, fsync it,
rename it over the target, fsync the folder (rename(2), fsync(2)). FAT keeps a
file's size and place in its name's entry, and Linux writes those of a renamed
file when the file itself is synced, not its folder (fs/fat/namei_vfat.c,
vfat_rename: the new entry is empty until then): so it is synced once more. Only
then is a record reported as saved.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from pathlib import Path


def save(path: Path, data: bytes) -> None:
    """Write a file atomically and durably. Raises OSError; the old file then stands."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_CLOEXEC, 0o644)
        try:
            _write_all(descriptor, data)
            os.fsync(descriptor)
            temporary.replace(path)
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    except OSError:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise
    sync_folder(path.parent)


def save_file(path: Path, source: Path) -> None:
    """Write a copy of a file atomically and durably, a piece at a time. Raises OSError."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        with source.open("rb") as whole, temporary.open("wb") as part:
            shutil.copyfileobj(whole, part)
            part.flush()
            os.fsync(part.fileno())
            temporary.replace(path)
            os.fsync(part.fileno())
    except OSError:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise
    sync_folder(path.parent)


def make_folder(path: Path) -> None:
    """Make a folder and its parents durably. Raises OSError."""
    if path.is_dir():
        return
    make_folder(path.parent)
    with contextlib.suppress(FileExistsError):
        path.mkdir()
    sync_folder(path.parent)


def sync_file(path: Path) -> None:
    """Make a renamed file durable under its new name. Raises OSError."""
    descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def sync_folder(path: Path) -> None:
    """Make the names in a folder durable. Raises OSError."""
    descriptor = os.open(path, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _write_all(descriptor: int, data: bytes) -> None:
    view = memoryview(data)
    while view:
        view = view[os.write(descriptor, view) :]
