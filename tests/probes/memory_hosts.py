"""A host of given files, for probes that ask only for files, names and the kernel's log."""

from __future__ import annotations

import errno
from collections.abc import Mapping, Sequence

from livecheck.host import (
    CommandResult,
    Facts,
    Host,
    KernelMessage,
    UdevDevice,
    Unreadable,
)


class Files:
    """Answers from a mapping path -> content; everything else is not there."""

    def __init__(self, files: Mapping[str, str | bytes], log: Sequence[KernelMessage] = ()) -> None:
        self.files = files
        self.log = tuple(log)

    def scope(self, name: str) -> Host:
        return self

    def facts(self) -> Facts:
        return Facts(kernel="6.12", machine="x86_64", as_root=True, now="2026-01-01T00:00:00Z")

    def read(self, path: str) -> bytes:
        if path not in self.files:
            raise Unreadable(path, errno.ENOENT)
        content = self.files[path]
        return content.encode() if isinstance(content, str) else content

    def names(self, path: str) -> tuple[str, ...]:
        start = path.rstrip("/") + "/"
        below = (name[len(start) :] for name in self.files if name.startswith(start))
        return tuple(sorted({name.split("/", 1)[0] for name in below}))

    def target(self, path: str) -> str | None:
        return None

    def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
        return ()

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        return self.log

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        return CommandResult(status=None, out=b"", err=b"", trouble="not found")

    def block(self, device: str, offset: int, length: int) -> bytes:
        raise Unreadable(device, errno.ENOENT)

    def clock(self) -> float:
        return 0.0

    def wait(self, seconds: float) -> None:
        return None
