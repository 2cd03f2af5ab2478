"""The only way to the hardware.

Everything livecheck knows of a machine is asked through a ``Host``.
``livecheck.live_host`` asks the kernel; ``livecheck.capture`` holds the host that
records the answers and the one that replays them, so any machine can be run again on
any other.

A host only ever reads. Block devices are opened ``O_RDONLY``. An answer that
could not be had is an ``Unreadable`` with the kernel's errno: a value to judge,
never a reason to stop.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from typing import Final, Protocol, runtime_checkable

import msgspec


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
        """Contents of a file of sysfs, procfs or devtmpfs, up to ``asking.READ_LIMIT`` bytes."""

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
    """An attribute as a whole number; None when it cannot be read or is none of 64 bits, the
    most that the kernel counts with."""
    raw = text(host, path)
    try:
        # int() takes digits of other scripts, underscores and a plus, which no kernel writes.
        plain = raw is not None and raw.isascii() and not set(raw) & set("_+")
        found = int(raw, base) if plain and raw is not None else None
    except ValueError:
        return None
    return found if found is not None and -(1 << 63) <= found < 1 << 64 else None


def flag(host: Host, path: str) -> bool | None:
    """An attribute that is 0 or 1; None when it cannot be read or is something else."""
    found = number(host, path)
    return bool(found) if found in (0, 1) else None


MOST_EVENTS: Final = 1 << 48
"""No counter of errors gets there: at a million a second it takes nine years."""


def counted(host: Host, path: str) -> int | None:
    """An attribute as a count of events; None for what none can be, as a counter of ones."""
    found = number(host, path)
    return found if found is not None and 0 <= found < MOST_EVENTS else None


@runtime_checkable
class ScreenHost(Protocol):
    """A host that can read a screen's registers, or replays what they were."""

    def aux(self, device: str, offset: int, length: int) -> bytes:
        """Bytes of a DisplayPort screen's registers (Linux, ``drm_dp_aux_dev.c``)."""

    def edid_block(self, device: str) -> bytes:
        """The first EDID block, read from the screen anew, by the node of its I2C bus."""
