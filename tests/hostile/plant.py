"""Ways to put something in a file's place that is none, or none that should be read."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Final

DEEP: Final = 200_000
HUGE: Final = 4 << 30


def _clear(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def _fifo(path: Path, outside: Path) -> None:
    os.mkfifo(path)


def _zeros(path: Path, outside: Path) -> None:
    path.symlink_to("/dev/zero")


def _link(path: Path, outside: Path) -> None:
    path.symlink_to(outside / "secret")


def _loop(path: Path, outside: Path) -> None:
    path.symlink_to(path.name)


def _folder(path: Path, outside: Path) -> None:
    path.mkdir()


def _huge(path: Path, outside: Path) -> None:
    with path.open("wb") as file:
        file.truncate(HUGE)


def _deep(path: Path, outside: Path) -> None:
    nested = b"[" * DEEP + b"]" * DEEP
    path.write_bytes(b'{"x": ' + nested + b"}" if path.suffix != ".toml" else b"x = " + nested)


def _bytes(path: Path, outside: Path) -> None:
    path.write_bytes(bytes(range(256)) * 3)


def _nothing(path: Path, outside: Path) -> None:
    path.touch()


Plant = Callable[[Path, Path], None]
PLANTS: Final[dict[str, Plant]] = {
    "a named pipe": _fifo,
    "a link to /dev/zero": _zeros,
    "a link out of the drive": _link,
    "a link to itself": _loop,
    "a folder": _folder,
    "four gibibytes": _huge,
    "brackets without end": _deep,
    "bytes that are no text": _bytes,
    "nothing at all": _nothing,
}


def plant(kind: str, path: Path, outside: Path) -> None:
    """Put it in the place of ``path``; ``outside`` is a folder that no program may touch."""
    _clear(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    PLANTS[kind](path, outside)


def linked(folder: Path, outside: Path) -> None:
    """Put a link to a like folder outside in the place of a folder."""
    outside.mkdir(exist_ok=True)
    target = outside / folder.name
    folder.rename(target)
    folder.symlink_to(target, target_is_directory=True)
