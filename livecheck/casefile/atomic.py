"""Saving so that a file is either the old one or the new one, whole.

POSIX gives the order: write a temporary file beside the target, fsync it,
rename it over the target, fsync the folder (rename(2), fsync(2)). FAT keeps a
file's size and place in its name's entry, and Linux writes those of a renamed
file when the file itself is synced, not its folder (fs/fat/namei_vfat.c,
vfat_rename: the new entry is empty until then): so it is synced once more. Only
then is a record reported as saved.

No link on the way is followed, and no name can be foreseen: whoever else writes to the
drive can neither lead a save out of it nor meet another bench's temporary file. Files and
folders may be read and changed by whom the folder they lie in lets change it, and by
nobody else. Every function raises OSError when the drive refuses.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from livecheck import guarded
from livecheck.records import DamagedRecord

STALE_SECONDS: Final = 3600.0
"""A temporary file this much older than a new one beside it was left by a power cut."""
MOST_UNFINISHED: Final = 4
"""Looked at in place of a lost file; each cut leaves one."""
_TEMPORARY: Final = re.compile(r"\..+\.[0-9a-f]+\.new", re.DOTALL)


def save(path: Path, data: bytes) -> None:
    """Write a file atomically and durably; when this raises, the old file stands."""
    with folder(path.parent) as here, _temporary(here, path.name) as (descriptor, name):
        _write_all(descriptor, data)
        os.fsync(descriptor)
        with _spare(here, path.name, data):
            os.rename(name, path.name, src_dir_fd=here, dst_dir_fd=here)
            os.fsync(descriptor)
            sync(here)
        _tidy(here, path.name, os.fstat(descriptor).st_mtime)


def unfinished(path: Path) -> list[bytes]:
    """What saves of a file left beside it when they were cut off, newest first, whole or not.

    FAT has no order: the old file's clusters can be free on the drive while its name still
    leads to them, and the new one's temporary name gone. The new content then stands in the
    spare copy, synced before the rename. Nothing where it cannot be read.
    """
    found: list[tuple[float, str]] = []
    with contextlib.suppress(OSError, DamagedRecord), guarded.entries(path.parent) as entries:
        for entry in entries:
            if _is_left_of(path.name, entry.name):
                found.append((entry.stat(follow_symlinks=False).st_mtime, entry.name))
    left: list[bytes] = []
    for _, name in sorted(found, reverse=True)[:MOST_UNFINISHED]:
        with contextlib.suppress(OSError, DamagedRecord):
            left.append(guarded.read(path.with_name(name)))
    return left


def try_out(path: Path) -> None:
    """Write and sync a block in a folder, and take it away again."""
    with folder(path) as here, _temporary(here, "probe") as (descriptor, _):
        _write_all(descriptor, b"x" * 4096)
        os.fsync(descriptor)
        _tidy(here, "probe", os.fstat(descriptor).st_mtime)


def make_folder(path: Path) -> None:
    """Make a folder and its parents durably, where they are not there."""
    try:
        with folder(path):
            return
    except FileNotFoundError:
        if path == path.parent:
            raise
    make_folder(path.parent)
    with contextlib.suppress(FileExistsError):
        take_folder(path)


def take_folder(path: Path) -> None:
    """Make a folder durably. Raises FileExistsError to all but one who ask for it."""
    with folder(path.parent) as here:
        os.mkdir(path.name, _folder_mode(os.fstat(here).st_mode), dir_fd=here)
        sync(here)


def create(path: Path) -> int:
    """A new file, open for reading and writing, not yet durable. Raises FileExistsError."""
    with folder(path.parent) as here:
        return _new(here, path.name)


def reopen(path: Path) -> int:
    """A file that ``create`` made, open again for reading and writing."""
    with folder(path.parent) as here:
        return os.open(path.name, os.O_RDWR | os.O_NOFOLLOW | os.O_CLOEXEC, dir_fd=here)


def move(source: Path, target: Path) -> None:
    """Rename a file or folder durably, onto whatever file is there."""
    with folder(source.parent) as left, folder(target.parent) as here:
        os.rename(source.name, target.name, src_dir_fd=left, dst_dir_fd=here)
        moved = os.open(target.name, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC, dir_fd=here)
        try:
            os.fsync(moved)
        finally:
            os.close(moved)
        sync(here)


def remove(path: Path) -> None:
    """Take a file away durably, if it is there."""
    with folder(path.parent) as here:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(path.name, dir_fd=here)
        sync(here)


def mark_changed(path: Path) -> None:
    """Give a folder a new time of change, for who looks at nothing else."""
    with folder(path) as here:
        os.utime(".", dir_fd=here)


@contextlib.contextmanager
def folder(path: Path) -> Iterator[int]:
    """As ``guarded.folder``, for writing: a link on the way is an OSError (ELOOP)."""
    with contextlib.ExitStack() as stack:
        try:
            here = stack.enter_context(guarded.folder(path))
        except DamagedRecord as error:
            raise OSError(errno.ELOOP, f"it is {error}") from error
        yield here


def sync(here: int) -> None:
    """Make the names in an open folder durable."""
    descriptor = os.open(".", os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC, dir_fd=here)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextlib.contextmanager
def _temporary(here: int, target: str) -> Iterator[tuple[int, str]]:
    name = f".{target}.{secrets.token_hex(8)}.new"
    descriptor = _new(here, name)
    try:
        yield descriptor, name
    finally:
        os.close(descriptor)
        with contextlib.suppress(OSError):
            os.unlink(name, dir_fd=here)


@contextlib.contextmanager
def _spare(here: int, target: str, data: bytes) -> Iterator[None]:
    """A second copy, durable while a file that is there gives way to the new one: on FAT both
    of them can be lost between the rename and the sync after it."""
    try:
        os.close(os.open(target, os.O_PATH | os.O_NOFOLLOW | os.O_CLOEXEC, dir_fd=here))
    except FileNotFoundError:
        yield
        return
    with _temporary(here, target) as (descriptor, _):
        _write_all(descriptor, data)
        os.fsync(descriptor)
        yield


def _folder_mode(above: int) -> int:
    if above & stat.S_ISVTX:  # where everybody keeps things of their own, as in /tmp
        return 0o700
    others = ((stat.S_IWGRP, 0o070), (stat.S_IWOTH, 0o007))
    return 0o700 | sum(bits for may, bits in others if above & may)


def _new(here: int, name: str) -> int:
    mode = os.fstat(here).st_mode & 0o666
    flags = os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC
    return os.open(name, os.O_RDWR | os.O_CREAT | flags, mode, dir_fd=here)


def _is_left_of(target: str, name: str) -> bool:
    return name.startswith(f".{target}.") and _TEMPORARY.fullmatch(name) is not None


def _tidy(here: int, target: str, now: float) -> None:
    """Take away what power cuts left of a file that is whole again.

    ``now`` is a file's own time: the drive's clock.
    """
    with contextlib.suppress(OSError), guarded.listed(here) as entries:
        for entry in entries:
            if _is_left_of(target, entry.name):
                age = now - entry.stat(follow_symlinks=False).st_mtime
                if age > STALE_SECONDS:
                    os.unlink(entry.name, dir_fd=here)


def _write_all(descriptor: int, data: bytes) -> None:
    view = memoryview(data)
    while view:
        view = view[os.write(descriptor, view) :]
