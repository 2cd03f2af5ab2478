"""NTFS file systems that hold files, made by Debian's ntfs-3g without mounting: mkntfs makes the
file system, its library the folders (``ntfs_create``, ntfs-3g's ``dir.h``), ntfscp the files."""

from __future__ import annotations

import ctypes
import ctypes.util
import stat
import subprocess
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

SIZE = 32 << 20
MKNTFS = "/usr/sbin/mkntfs"
NTFSCP = "/usr/sbin/ntfscp"


def image(path: Path, files: Mapping[str, bytes], size: int = SIZE) -> Path:
    """A file system with the files in it."""
    with path.open("wb") as file:
        file.truncate(size)
    _run(MKNTFS, "-F", "-Q", "-q", path)
    for name, content in files.items():
        _folders(path, PurePosixPath(name).parent)
        own = path.with_suffix(".content")
        own.write_bytes(content)
        _run(NTFSCP, "-q", path, own, name)
        own.unlink()
    return path


def _run(*words: str | Path) -> None:
    subprocess.run(words, check=True, capture_output=True)


def _folders(path: Path, folder: PurePosixPath) -> None:
    library = ctypes.CDLL(ctypes.util.find_library("ntfs-3g"))
    pointer, text = ctypes.c_void_p, ctypes.c_char_p
    for name, result, takes in (
        ("ntfs_mount", pointer, (text, ctypes.c_ulong)),
        ("ntfs_pathname_to_inode", pointer, (pointer, pointer, text)),
        ("ntfs_create", pointer, (pointer, ctypes.c_uint32, text, ctypes.c_uint8, ctypes.c_uint)),
        ("ntfs_inode_close", ctypes.c_int, (pointer,)),
        ("ntfs_umount", ctypes.c_int, (pointer, ctypes.c_int)),
    ):
        function = getattr(library, name)
        function.restype, function.argtypes = result, takes
    volume = library.ntfs_mount(str(path).encode(), 0)
    assert volume, "ntfs-3g cannot open what mkntfs made"
    for one in [*reversed(folder.parents), folder][1:]:
        if library.ntfs_pathname_to_inode(volume, None, f"/{one}".encode()):
            continue
        above = library.ntfs_pathname_to_inode(volume, None, f"/{one.parent}".encode())
        wide = one.name.encode("utf-16-le")
        made = library.ntfs_create(above, 0, wide, len(one.name), stat.S_IFDIR)
        assert made, one
        library.ntfs_inode_close(made)
        library.ntfs_inode_close(above)
    library.ntfs_umount(volume, 0)
