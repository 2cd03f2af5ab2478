"""One at a time, among benches that share a drive.

A lock of the kernel's, flock(2), on an empty file that stays: it ends with the process that
holds it, however that ends, and nobody has to judge whether an owner still lives. Over NFS
and SMB it is a lock of the server's (flock(2), "NFS details" and "CIFS details"), which
gives it back when the client's lease or session ends: after 90 s by RFC 8881, 8.3, as Linux
sets it (fs/nfsd). A share mounted so that locks stay on the client (``nolock``,
``local_lock``, ``nobrl``) does not keep two benches apart.
"""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from livecheck import guarded
from livecheck.casefile import atomic
from livecheck.records import DamagedRecord

NAME: Final = ".lock"
WAIT_SECONDS: Final = 100.0
"""Longer than a server keeps the lock of a bench that lost power; a change takes milliseconds."""
POLL_SECONDS: Final = 0.02
_HELD: Final = (errno.EAGAIN, errno.EACCES)
"""Another holds it (fcntl(2), F_SETLK): the second is what Linux says of a lock over SMB."""


@contextlib.contextmanager
def held(folder: Path) -> Iterator[None]:
    """Be the only one who changes what is in a folder. Raises OSError."""
    descriptor = _open(folder)
    try:
        _wait(descriptor)
        yield
    finally:
        os.close(descriptor)


def _open(folder: Path) -> int:
    file = folder / NAME
    try:
        with contextlib.suppress(FileExistsError):
            return atomic.create(file)
        return guarded.opened(file, os.O_RDWR)
    except DamagedRecord as error:
        raise OSError(errno.ELOOP, f"its {NAME} is {error}") from error


def _wait(descriptor: int) -> None:
    until = time.monotonic() + WAIT_SECONDS
    while True:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return
        except OSError as error:
            if error.errno not in _HELD:
                raise
            if time.monotonic() >= until:
                raise OSError(errno.EBUSY, "another bench is changing it") from None
            time.sleep(POLL_SECONDS)
