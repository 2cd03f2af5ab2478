"""The host that is the machine livecheck runs on: the kernel is asked, and nothing is written."""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
import select
import shutil
import stat
import time
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from typing import Final

import pyudev

from livecheck import i2c
from livecheck.asking import FileReader, output
from livecheck.host import (
    CommandResult,
    Facts,
    Host,
    KernelMessage,
    UdevDevice,
    Unreadable,
)
from livecheck.kmsg import kmsg_records, parse_kmsg
from livecheck.listening import LogTail, UdevEvents

CDROM_DRIVE_STATUS: Final = 0x5326
CDSL_CURRENT: Final = 0x7FFFFFFF
"""Asks for the state of tray and disc; changes neither (Linux ``include/uapi/linux/cdrom.h``)."""
MOST_FRAMES: Final = 1 << 20
"""Bytes of checksums; a line has 121 at the most."""

CLEAN_ENVIRONMENT: Final = {"LC_ALL": "C", "LANG": "C"}


class LiveHost:
    """The machine livecheck runs on."""

    def __init__(self) -> None:
        self._context: pyudev.Context | None = None
        self._files = FileReader()

    def scope(self, name: str) -> Host:
        return self

    def facts(self) -> Facts:
        system = os.uname()
        return Facts(
            kernel=f"{system.sysname} {system.release}",
            machine=system.machine,
            as_root=os.geteuid() == 0,
            now=datetime.now(UTC).isoformat(timespec="seconds"),
        )

    def read(self, path: str) -> bytes:
        return self._files.read(path)

    def names(self, path: str) -> tuple[str, ...]:
        try:
            return tuple(sorted(os.listdir(path)))  # noqa: PTH208 (umockdev traps listdir)
        except (FileNotFoundError, NotADirectoryError):
            return ()
        except OSError as error:
            raise Unreadable(path, error.errno or errno.EIO) from error

    def target(self, path: str) -> str | None:
        if not os.path.islink(path):  # noqa: PTH114 (umockdev traps readlink)
            return None
        return os.path.realpath(path)

    def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
        if self._context is None:
            self._context = pyudev.Context()
        found = self._context.list_devices(subsystem=subsystem)
        return tuple(sorted((_udev_device(d) for d in found), key=lambda d: d.path))

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        path = "/dev/kmsg"
        try:
            descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
        except OSError as error:
            raise Unreadable(path, error.errno or errno.EIO) from error
        try:
            return tuple(parse_kmsg(kmsg_records(descriptor)))
        finally:
            os.close(descriptor)

    def log_tail(self) -> LogTail:
        return LogTail()

    def udev_events(self, subsystem: str) -> UdevEvents:
        return UdevEvents(subsystem)

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        program = shutil.which(argv[0], path=_search_path())
        if program is None:
            return CommandResult(None, b"", b"", f"{argv[0]} is not installed")
        return output([program, *argv[1:]], {**os.environ, **CLEAN_ENVIRONMENT}, deadline)

    def block(self, device: str, offset: int, length: int) -> bytes:
        try:
            descriptor = open_block_device(device)
        except OSError as error:
            raise Unreadable(device, error.errno or errno.EIO) from error
        try:
            return os.pread(descriptor, length, offset)
        except OSError as error:
            raise Unreadable(device, error.errno or errno.EIO) from error
        finally:
            os.close(descriptor)

    def open_disk(self, device: str) -> int:
        try:
            return open_block_device(device, os.O_DIRECT)
        except OSError as error:
            raise Unreadable(device, error.errno or errno.EIO) from error

    def radio(self, question: str, index: int | None = None) -> tuple[bytes, ...]:
        from livecheck.radio import netlink

        try:
            return netlink.ask(question, index)
        except netlink.KernelRefused as error:
            raise Unreadable(f"nl80211 {question}", error.errno) from error
        except OSError as error:
            raise Unreadable(f"nl80211 {question}", error.errno or errno.EIO) from error

    @contextlib.contextmanager
    def switched_on(self, index: int) -> Iterator[bool]:
        from livecheck.radio import netlink

        try:
            with netlink.switched_on(index) as changed:
                yield changed
        except netlink.KernelRefused as error:
            raise Unreadable(f"interface {index}", error.errno) from error

    def scan(self, index: int, deadline: float, stopped: Callable[[], bool]) -> None:
        from livecheck.radio import netlink

        try:
            netlink.scan(index, deadline, stopped)
        except netlink.KernelRefused as error:
            raise Unreadable("scan", error.errno) from error

    def tray(self, device: str) -> int:
        try:
            # O_NONBLOCK: opening so neither closes the tray nor waits for a disc.
            descriptor = open_block_device(device, os.O_NONBLOCK)
        except OSError as error:
            raise Unreadable(device, error.errno or errno.EIO) from error
        try:
            return fcntl.ioctl(descriptor, CDROM_DRIVE_STATUS, CDSL_CURRENT)
        except OSError as error:
            raise Unreadable(device, error.errno or errno.EIO) from error
        finally:
            os.close(descriptor)

    def aux(self, device: str, offset: int, length: int) -> bytes:
        with _character_device(device) as descriptor:
            return os.pread(descriptor, length, offset)

    def edid_block(self, device: str) -> bytes:
        with _character_device(device) as descriptor:
            return i2c.edid_block(descriptor)

    def frames(self, path: str, seconds: float, stopped: Callable[[], bool]) -> bytes:
        found, until = b"", time.monotonic() + seconds
        try:
            descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
            try:
                while time.monotonic() < until and len(found) < MOST_FRAMES and not stopped():
                    if select.select([descriptor], [], [], 0.1)[0]:
                        found += os.read(descriptor, 4096)
            finally:
                os.close(descriptor)
        except OSError as error:
            raise Unreadable(path, error.errno or errno.EIO) from error
        return found

    def clock(self) -> float:
        return time.monotonic()

    def wait(self, seconds: float) -> None:
        time.sleep(seconds)


def open_block_device(device: str, flags: int = 0) -> int:
    """Open a block device for reading and nothing else; returns the descriptor.

    ``flags`` may add ``O_DIRECT`` or ``O_NONBLOCK``. Raises OSError; and
    ValueError for flags that would let anything be written.
    """
    if flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND):
        raise ValueError("livecheck opens drives for reading only")
    descriptor = os.open(device, os.O_RDONLY | os.O_CLOEXEC | flags)
    mode = fcntl.fcntl(descriptor, fcntl.F_GETFL) & os.O_ACCMODE
    if mode != os.O_RDONLY or not stat.S_ISBLK(os.fstat(descriptor).st_mode):
        os.close(descriptor)
        raise OSError(errno.ENOTBLK, os.strerror(errno.ENOTBLK), device)
    return descriptor


@contextlib.contextmanager
def _character_device(device: str) -> Iterator[int]:
    """A device node open for reading, and no file. Every errno becomes an Unreadable."""
    try:
        descriptor = os.open(device, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
    except OSError as error:
        raise Unreadable(device, error.errno or errno.EIO) from error
    try:
        if not stat.S_ISCHR(os.fstat(descriptor).st_mode):
            raise Unreadable(device, errno.ENODEV)
        yield descriptor
    except OSError as error:
        raise Unreadable(device, error.errno or errno.EIO) from error
    finally:
        os.close(descriptor)


def _search_path() -> str:
    # smartctl and its like live in sbin, which an ordinary user's PATH leaves out.
    return os.pathsep.join([os.environ.get("PATH", os.defpath), "/usr/sbin", "/sbin"])


def _udev_device(device: pyudev.Device) -> UdevDevice:
    parent = device.parent
    return UdevDevice(
        subsystem=device.subsystem or "",
        name=device.sys_name,
        path=device.sys_path,
        parent=parent.sys_path if parent is not None else None,
        driver=device.driver,
        properties={name: _property(device, name) for name in device.properties},
    )


def _property(device: pyudev.Device, name: str) -> str:
    """Names that a device gave itself need not be text: a Bluetooth keyboard's comes as it is."""
    try:
        return str(device.properties[name])
    except UnicodeDecodeError as error:
        return error.object.decode("utf-8", "replace")
