"""The only way to the hardware.

Everything livecheck knows of a machine is asked through a ``Host``. ``LiveHost``
asks the kernel; ``livecheck.capture`` holds the host that records the answers
and the one that replays them, so any machine can be run again on any other.

A host only ever reads. Block devices are opened ``O_RDONLY``. An answer that
could not be had is an ``Unreadable`` with the kernel's errno: a value to judge,
never a reason to stop.
"""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
import re
import shutil
import signal
import stat
import subprocess
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final, Protocol, runtime_checkable

import msgspec
import pyudev

if TYPE_CHECKING:
    from livecheck.listening import LogTail, UdevEvents

READ_LIMIT: Final = 4 << 20
"""Largest file read whole, in bytes; sysfs and procfs files are far smaller."""

CDROM_DRIVE_STATUS: Final = 0x5326
CDSL_CURRENT: Final = 0x7FFFFFFF
"""Asks for the state of tray and disc; changes neither (Linux ``include/uapi/linux/cdrom.h``)."""

CLEAN_ENVIRONMENT: Final = {"LC_ALL": "C", "LANG": "C"}


class Unreadable(Exception):
    """Something that exists only as an errno: absent, refused, or failing to answer."""

    def __init__(self, path: str, number: int) -> None:
        super().__init__(f"{path}: {os.strerror(number)}")
        self.path = path
        self.errno = number


class UdevDevice(msgspec.Struct, frozen=True):
    """One device of the udev database."""

    subsystem: str
    name: str
    path: str
    """Absolute path in sysfs."""
    parent: str | None
    """Absolute sysfs path of the parent device."""
    driver: str | None
    properties: dict[str, str]


class KernelMessage(msgspec.Struct, frozen=True):
    """One record of the kernel's log (Documentation/ABI/testing/dev-kmsg)."""

    seconds: float
    priority: int
    """0 emergency … 7 debug."""
    text: str
    device: str | None = None
    """``+pci:0000:00:1f.2``, ``b8:0``: the kernel's own word for the device."""


class CommandResult(msgspec.Struct, frozen=True):
    """What came of running a command."""

    status: int | None
    """Exit status; None: not found, or killed at the deadline."""
    out: bytes
    err: bytes
    trouble: str | None = None
    """Why there is no status, as words."""


class Facts(msgspec.Struct, frozen=True):
    """What the host is, asked once."""

    kernel: str
    machine: str
    as_root: bool
    now: str
    """ISO 8601 UTC by the host's clock."""


@runtime_checkable
class Host(Protocol):
    """What a host can be asked. Implementations raise only ``Unreadable``."""

    def scope(self, name: str) -> Host:
        """This host as one stage of a run sees it; recordings are kept by stage."""

    def facts(self) -> Facts:
        """Kernel, privileges and clock."""

    def read(self, path: str) -> bytes:
        """Contents of a file of sysfs, procfs or devtmpfs, up to ``READ_LIMIT`` bytes."""

    def names(self, path: str) -> tuple[str, ...]:
        """Sorted names in a folder; empty when there is no such folder."""

    def target(self, path: str) -> str | None:
        """Absolute path a symbolic link ends at; None when it is none."""

    def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
        """Devices of a subsystem in the udev database, sorted by sysfs path."""

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        """Messages since the kernel started, oldest first."""

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        """Run a command that only reads, for at most ``deadline`` seconds."""

    def block(self, device: str, offset: int, length: int) -> bytes:
        """Bytes of a block device, opened for reading only."""

    def radio(self, question: str, index: int | None = None) -> tuple[bytes, ...]:
        """Messages of nl80211, without headers (``livecheck.radio.netlink.QUESTIONS``).

        ``index``: the interface that is meant, for the questions about one. A kernel
        without any radio answers ENOENT.
        """

    def clock(self) -> float:
        """Seconds on a clock that never runs back."""

    def wait(self, seconds: float) -> None:
        """Let time pass; a replay passes over it."""


@runtime_checkable
class DiskHost(Protocol):
    """A host whose drives are here to be read; a replay's are not."""

    def open_disk(self, device: str) -> int:
        """Descriptor of a block device, for reading past every cache (O_DIRECT)."""


@runtime_checkable
class RadioHost(Protocol):
    """A host whose radios may be switched on and told to listen; a replay's may not."""

    def switched_on(self, index: int) -> AbstractContextManager[bool]:
        """A network interface up meanwhile; True: it was down, and goes down again."""

    def scan(self, index: int, deadline: float, stopped: Callable[[], bool]) -> None:
        """One scan over all channels, to its end. Never connects."""


@runtime_checkable
class TrayHost(Protocol):
    """A host that can ask optical drives for their tray, or replays what one said."""

    def tray(self, device: str) -> int:
        """CDROM_DRIVE_STATUS of a device node (Linux ``include/uapi/linux/cdrom.h``): 0 not
        known, 1 no disc, 2 tray open, 3 not ready, 4 disc in."""


def text(host: Host, path: str) -> str | None:
    """A one-value attribute, stripped; None when it cannot be read or is empty."""
    try:
        raw = host.read(path)
    except Unreadable:
        return None
    return raw.decode("utf-8", "replace").strip("\x00 \t\r\n") or None


def number(host: Host, path: str, base: int = 10) -> int | None:
    """An attribute as a whole number; None when it cannot be read or is none."""
    raw = text(host, path)
    try:
        return int(raw, base) if raw is not None else None
    except ValueError:
        return None


class LiveHost:
    """The machine livecheck runs on."""

    def __init__(self) -> None:
        self._context: pyudev.Context | None = None

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
        # O_NONBLOCK: some attributes and device nodes would wait for hardware.
        try:
            descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
        except OSError as error:
            raise Unreadable(path, error.errno or errno.EIO) from error
        try:
            return _read_all(descriptor)
        except OSError as error:
            raise Unreadable(path, error.errno or errno.EIO) from error
        finally:
            os.close(descriptor)

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
        from livecheck.listening import LogTail

        return LogTail()

    def udev_events(self, subsystem: str) -> UdevEvents:
        from livecheck.listening import UdevEvents

        return UdevEvents(subsystem)

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        program = shutil.which(argv[0], path=_search_path())
        if program is None:
            return CommandResult(None, b"", b"", f"{argv[0]} is not installed")
        process = subprocess.Popen(
            [program, *argv[1:]],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env={**os.environ, **CLEAN_ENVIRONMENT},
            start_new_session=True,
        )
        try:
            out, err = process.communicate(timeout=deadline)
        except subprocess.TimeoutExpired:
            return _give_up(process, argv[0], deadline)
        return CommandResult(process.returncode, out, err)

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
        except netlink.Refused as error:
            raise Unreadable(f"nl80211 {question}", error.errno) from error
        except OSError as error:
            raise Unreadable(f"nl80211 {question}", error.errno or errno.EIO) from error

    @contextlib.contextmanager
    def switched_on(self, index: int) -> Iterator[bool]:
        from livecheck.radio import netlink

        try:
            with netlink.switched_on(index) as changed:
                yield changed
        except netlink.Refused as error:
            raise Unreadable(f"interface {index}", error.errno) from error

    def scan(self, index: int, deadline: float, stopped: Callable[[], bool]) -> None:
        from livecheck.radio import netlink

        try:
            netlink.scan(index, deadline, stopped)
        except netlink.Refused as error:
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


def _read_all(descriptor: int) -> bytes:
    parts: list[bytes] = []
    size = 0
    while size < READ_LIMIT:
        part = os.read(descriptor, min(65536, READ_LIMIT - size))
        if not part:
            break
        parts.append(part)
        size += len(part)
    return b"".join(parts)


def _search_path() -> str:
    # smartctl and its like live in sbin, which an ordinary user's PATH leaves out.
    return os.pathsep.join([os.environ.get("PATH", os.defpath), "/usr/sbin", "/sbin"])


def _give_up(process: subprocess.Popen[bytes], name: str, deadline: float) -> CommandResult:
    """Kill a command's whole group; a command stuck in the kernel is left behind."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.communicate(timeout=1)
    return CommandResult(None, b"", b"", f"{name} did not answer in {deadline:g} s")


def _udev_device(device: pyudev.Device) -> UdevDevice:
    parent = device.parent
    return UdevDevice(
        subsystem=device.subsystem or "",
        name=device.sys_name,
        path=device.sys_path,
        parent=parent.sys_path if parent is not None else None,
        driver=device.driver,
        properties=dict(device.properties),
    )


def kmsg_records(descriptor: int) -> Iterator[bytes]:
    """Raw records; a record overwritten while we read it is passed over (EPIPE)."""
    while True:
        try:
            record = os.read(descriptor, 8192)
        except BlockingIOError:
            return
        except BrokenPipeError:
            continue
        except OSError as error:
            if error.errno == errno.EINVAL:  # longer than the buffer; never seen in practice
                continue
            raise Unreadable("/dev/kmsg", error.errno or errno.EIO) from error
        if not record:
            return
        yield record


_KMSG_HEAD = re.compile(r"^(\d+),\d+,(\d+),[^;]*;(.*)$")


def parse_kmsg(records: Iterator[bytes]) -> Iterator[KernelMessage]:
    """Typed messages of /dev/kmsg records (Documentation/ABI/testing/dev-kmsg)."""
    head: tuple[float, int, str] | None = None
    device: str | None = None
    for line in b"".join(r if r.endswith(b"\n") else r + b"\n" for r in records).splitlines():
        words = line.decode("utf-8", "replace")
        match = _KMSG_HEAD.match(words)
        if match:
            if head:
                yield KernelMessage(head[0], head[1], head[2], device)
            # The low three bits are the priority, the rest the facility.
            head = (int(match[2]) / 1e6, int(match[1]) & 7, match[3])
            device = None
        elif words.startswith(" DEVICE="):
            device = words[8:]
    if head:
        yield KernelMessage(head[0], head[1], head[2], device)
