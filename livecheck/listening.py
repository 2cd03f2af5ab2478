"""What a running machine tells by itself: kernel messages and changes of devices, as they come.

Belongs to livecheck.live_host: it opens the kernel's log and the socket of its events, and reads.
"""

from __future__ import annotations

import errno
import os
from typing import Protocol, runtime_checkable

import pyudev

from livecheck.host import KernelMessage, Unreadable
from livecheck.kmsg import kmsg_records, parse_kmsg


class LogTail:
    """Kernel messages as they come, from the moment this is made. Raises Unreadable."""

    def __init__(self) -> None:
        path = "/dev/kmsg"
        try:
            self._log = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
        except OSError as error:
            raise Unreadable(path, error.errno or errno.EIO) from error
        os.lseek(self._log, 0, os.SEEK_END)

    def new(self) -> tuple[KernelMessage, ...]:
        """Messages since the last call, oldest first."""
        try:
            return tuple(parse_kmsg(kmsg_records(self._log)))
        except Unreadable:
            return ()


@runtime_checkable
class LogHost(Protocol):
    """A host whose kernel can be listened to; a replay's cannot."""

    def log_tail(self) -> LogTail:
        """What the kernel says from now on."""


class UdevEvents:
    """Changes of one subsystem as the kernel tells of them. Raises Unreadable."""

    def __init__(self, subsystem: str) -> None:
        try:
            self._monitor = pyudev.Monitor.from_netlink(pyudev.Context(), source="kernel")
            self._monitor.filter_by(subsystem)
            self._monitor.start()
        except OSError as error:
            raise Unreadable(f"uevents of {subsystem}", error.errno or errno.EIO) from error

    def new(self) -> list[tuple[str, dict[str, str]]]:
        """(kernel name, properties) of each change since the last call, without waiting."""
        found = []
        while (device := self._monitor.poll(timeout=0)) is not None:
            found.append((device.sys_name, dict(device.properties)))
        return found

    def close(self) -> None:
        """Nothing more is listened to; the socket goes with the monitor."""
        del self._monitor


@runtime_checkable
class EventHost(Protocol):
    """A host whose kernel tells of changes; a replay's does not."""

    def udev_events(self, subsystem: str) -> UdevEvents:
        """Changes from now on."""
