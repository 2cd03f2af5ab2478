"""Whether the drive a folder lies on is still there."""

from __future__ import annotations

import errno
from collections.abc import Callable
from pathlib import Path

import msgspec

from livecheck.casefile.shop import mounts
from livecheck.host import Host, Unreadable


class Mount(msgspec.Struct, frozen=True):
    """The file system a folder lies on."""

    point: str
    device: str


def mount_of(host: Host, folder: Path) -> Mount | None:
    """The real file system that holds the folder; None where the kernel lists none."""
    path = folder.absolute()
    above = {str(path), *map(str, path.parents)}
    found = [Mount(point, device) for point, device in mounts(host) if point in above]
    return max(found, key=lambda mount: len(mount.point), default=None)


def lasts(host: Host, folder: Path) -> bool:
    """Whether what is saved in the folder is still there after the machine was switched off.

    A system that was started from a stick (live-boot: all below ``/run/live``) lives in
    memory, but for the drives that are mounted in it.
    """
    try:
        live = b" /run/live/" in host.read("/proc/self/mountinfo")
    except Unreadable:
        return True
    return not live or mount_of(host, folder) is not None


def trouble(host: Host, folder: Path, before: Mount | None) -> str | None:
    """Why nothing can be saved in the folder any more; None: nothing seems wrong.

    ``before`` is the mount the folder was on when all was well; a drive plugged in since,
    in the same place, does as well. A pulled drive stays mounted with its files in the cache,
    so its device is looked for too.
    """
    if before is not None:
        now = mount_of(host, folder)
        if now is None or now.point != before.point:
            return f"the drive at {before.point} is no longer mounted"
        if now.device.startswith("/dev/"):
            parent, _, name = now.device.rpartition("/")
            try:
                names = host.names(parent)
            except Unreadable:
                names = ()
            if name not in names:
                return f"the drive at {now.point} was pulled ({now.device} is gone)"
    if not folder.parent.is_dir():
        return f"the folder {folder.parent} is gone"
    return None


class Guard:
    """Remembers where a folder lies, so that nothing is saved beside a drive that is gone.

    The folders of a mount that vanished can be made again on what lies beneath it: in
    memory, as on the stick, where the record would not outlive the next power cut.
    """

    def __init__(self, host: Host, folder: Path) -> None:
        self._host = host
        self._folder = folder
        mount = mount_of(host, folder)
        # Where the device cannot be seen from the start, as in a container, its absence
        # tells nothing later.
        self._mount = mount if trouble(host, folder, mount) is None else None

    def gone(self) -> bool:
        """Whether there is no drive there now."""
        return trouble(self._host, self._folder, self._mount) is not None

    def check(self, is_ours: Callable[[], bool]) -> None:
        """Raises OSError (ENODEV) when the drive is not the one it was.

        ``is_ours``: whether one that was plugged in since holds what was saved on the first.
        """
        says = trouble(self._host, self._folder, self._mount)
        if says is None and not self._folder.is_dir():
            says = f"the folder {self._folder} is gone"
        now = mount_of(self._host, self._folder)
        if says is None and self._mount not in (None, now) and not is_ours():
            says = "another drive was plugged in"
        if says is not None:
            raise OSError(errno.ENODEV, says)
