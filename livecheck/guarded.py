"""The one way to read what other people may have put somewhere: shop drives, captures.

Paths come from the shop drive itself, so no link in them is followed: each folder is
opened below the one before (openat(2), O_NOFOLLOW), which no change made meanwhile can
get round. What the last name stands for is looked at before it is opened: opening a named
pipe waits for ever, and opening a device may set it off (open(2), O_PATH). What is read,
unpacked or nested has a limit. Whatever is wrong is a ``DamagedRecord`` that says what it is
and what to do; FileNotFoundError and other OSErrors are the drive's own answers.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import tomllib
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from livecheck.records import DamagedRecord

RECORD_BYTES: Final = 32 << 20
"""The most a record may hold; the longest run recorded so far has a hundredth of it."""
CAPTURE_BYTES: Final = 128 << 20
"""The most a capture may hold unpacked; a laptop's is some 100 kB. It must fit in memory."""
PIECE_BYTES: Final = 1 << 20
MOST_POINTS: Final = 1000
"""In a line of a table: a key of so many parts takes seconds to read."""
MOST_STALE: Final = 20
"""Looks at a file that other benches replace all the while; assumed."""

_WAY: Final = os.O_PATH | os.O_DIRECTORY | os.O_NOFOLLOW | os.O_CLOEXEC
_SORTS: Final = (
    (stat.S_ISLNK, "a link; livecheck follows none there (put the file itself in its place)"),
    (stat.S_ISDIR, "a folder, not a file (move it away)"),
    (stat.S_ISFIFO, "a named pipe, not a file (take it away)"),
    (stat.S_ISSOCK, "a socket, not a file (take it away)"),
    (stat.S_ISBLK, "a device, not a file (take it away)"),
    (stat.S_ISCHR, "a device, not a file (take it away)"),
)


def named(path: Path) -> Path:
    """A path as a person gave it, with its links followed: what they lead to is what is meant.

    What leads nowhere, as a link to itself, stays as it is; opening it says what is wrong.
    """
    try:
        followed = path.resolve()
    except (OSError, RuntimeError):
        return path
    return path if path.absolute() == followed else followed


@contextlib.contextmanager
def folder(path: Path) -> Iterator[int]:
    """A descriptor to reach a folder's files by (O_PATH). Raises OSError and DamagedRecord."""
    here = _straight(path)
    if here is None:
        here = _walk(path)
    try:
        yield here
    finally:
        os.close(here)


def _straight(path: Path) -> int | None:
    """The folder in one step; None where it is not what the kernel calls by that very path."""
    if ".." in path.parts:
        return None
    try:
        here = os.open(path, _WAY)
    except (NotADirectoryError, ValueError):
        return None
    if os.readlink(f"/proc/self/fd/{here}") == os.path.abspath(path):  # noqa: PTH100, PTH115
        return here
    os.close(here)
    return None


def _walk(path: Path) -> int:
    """The same, one folder after the other, for what is wrong or is called otherwise (FAT)."""
    here = os.open(path.anchor or ".", os.O_PATH | os.O_DIRECTORY | os.O_CLOEXEC)
    for name in path.parts[1:] if path.anchor else path.parts:
        try:
            here, above = _below(here, name, path), here
        except BaseException:
            os.close(here)
            raise
        os.close(above)
    return here


def _below(here: int, name: str, path: Path) -> int:
    try:
        if name == "..":
            raise ValueError("it leads out of its folder")
        return os.open(name, _WAY, dir_fd=here)
    except NotADirectoryError as error:
        raise DamagedRecord(
            f"reached through {name!r}, which is a link or no folder (put the folder itself there)"
        ) from error
    except ValueError as error:
        raise DamagedRecord(f"at {str(path)!r}, which is no path for a file: {error}") from error


@contextlib.contextmanager
def entries(path: Path) -> Iterator[Iterator[os.DirEntry[str]]]:
    """What a folder holds, not through a link. Raises as ``folder`` does."""
    with folder(path) as here, listed(here) as found:
        yield found


@contextlib.contextmanager
def listed(here: int) -> Iterator[Iterator[os.DirEntry[str]]]:
    """What an open folder holds. Raises OSError."""
    readable = os.open(".", os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC, dir_fd=here)
    try:
        with os.scandir(readable) as found:
            yield found
    finally:
        os.close(readable)


def records(path: Path) -> list[Path]:
    """The JSON files of a folder, by name; none where it cannot be read."""
    try:
        with entries(path) as found:
            names = sorted(entry.name for entry in found if entry.name.endswith(".json"))
    except (OSError, DamagedRecord):
        return []
    return [path / name for name in names]


def folders(path: Path) -> list[str]:
    """Names of the folders in a folder, links to folders left out. Raises as ``folder`` does."""
    with entries(path) as found:
        return sorted(entry.name for entry in found if entry.is_dir(follow_symlinks=False))


def opened(path: Path, flags: int = os.O_RDONLY) -> int:
    """A file, open; never anything else. Raises OSError and DamagedRecord.

    On a share another bench may put a new file in its place between two looks at it (ESTALE):
    it is that one, then.
    """
    for _ in range(MOST_STALE):
        try:
            return _opened(path, flags)
        except OSError as error:
            if error.errno != errno.ESTALE:
                raise
    return _opened(path, flags)


def _opened(path: Path, flags: int) -> int:
    with folder(path.parent) as here:
        try:
            there = os.open(path.name, os.O_PATH | os.O_NOFOLLOW | os.O_CLOEXEC, dir_fd=here)
        except ValueError as error:
            raise DamagedRecord(f"at {str(path)!r}, which is no path for a file") from error
    try:
        mode = os.fstat(there).st_mode
        for is_so, says in _SORTS:
            if is_so(mode):
                raise DamagedRecord(says)
        return os.open(f"/proc/self/fd/{there}", flags | os.O_CLOEXEC)
    finally:
        os.close(there)


def read(path: Path, most: int = RECORD_BYTES) -> bytes:
    """A file's bytes, all of them. Raises OSError and DamagedRecord."""
    descriptor = opened(path)
    try:
        data = _take(descriptor, os.fstat(descriptor).st_size, most)
    finally:
        os.close(descriptor)
    if len(data) > most:
        raise DamagedRecord(
            f"larger than the {most >> 20} MiB that livecheck reads of such a file (move it away)"
        )
    return data


def _take(descriptor: int, expected: int, most: int) -> bytes:
    """All there is, or at least a byte more than the most."""
    if expected > most:
        return bytes(most + 1)
    data = os.read(descriptor, expected + 1)
    while len(data) <= most and (part := os.read(descriptor, most + 1 - len(data))):
        data += part
    return data


def toml(path: Path) -> dict[str, Any]:
    """A table. Raises FileNotFoundError, other OSErrors, and DamagedRecord."""
    try:
        words = read(path, PIECE_BYTES).decode("utf-8-sig")
        if any(line.count(".") > MOST_POINTS for line in words.splitlines()):
            raise DamagedRecord(f"no table: a line of it holds more than {MOST_POINTS} points")
        return tomllib.loads(words)
    except RecursionError as error:
        raise DamagedRecord("nested too deep to be a table (see its brackets)") from error
    except ValueError as error:
        raise DamagedRecord(f"no TOML table: {error}") from error


def unpacked(data: bytes, most: int = CAPTURE_BYTES) -> bytes:
    """What gzip packed (RFC 1952), all members of it. Raises DamagedRecord."""
    whole = bytearray()
    while data:
        stream = zlib.decompressobj(wbits=31)
        try:
            whole += stream.decompress(data, most + 1 - len(whole))
        except zlib.error as error:
            raise DamagedRecord(f"not whole: {error}") from error
        if len(whole) > most:
            raise DamagedRecord(f"more than {most >> 20} MiB once unpacked, which no capture is")
        if not stream.eof:
            raise DamagedRecord("not whole: it ends too early")
        data = stream.unused_data
    return bytes(whole)
