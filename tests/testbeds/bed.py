"""A laptop as files and devices, and the two ways to run it.

``BedHost`` answers from the description itself, with a clock that stands still: what
it records is the same on every machine. ``Bed.description`` and ``Bed.files`` lay the
same laptop out for umockdev (``under_umockdev.py``), where the real LiveHost reads it.
"""

from __future__ import annotations

import errno
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from livecheck.host import (
    CommandResult,
    Facts,
    Host,
    KernelMessage,
    ScreenHost,
    UdevDevice,
    Unreadable,
)
from tests.testbeds.smartctl import Drive

BUSES = frozenset({"pci", "usb", "scsi", "mmc", "acpi", "hid"})
"""Subsystems the kernel lists under /sys/bus; all others stand under /sys/class."""

Content = str | bytes


@dataclass(frozen=True)
class Node:
    """One device of sysfs."""

    subsystem: str
    path: str
    files: Mapping[str, Content] = field(default_factory=dict)
    properties: Mapping[str, str] = field(default_factory=dict)
    driver: str | None = None
    node: bool = False
    """True: it has a device node of its own name in /dev."""

    @property
    def name(self) -> str:
        return self.path.rpartition("/")[2]


@dataclass(frozen=True)
class Bed:
    """One laptop in one configuration."""

    nodes: tuple[Node, ...]
    extra: Mapping[str, Content] = field(default_factory=dict)
    """Files outside of devices, by absolute path."""
    log: tuple[tuple[float, int, str], ...] = ()
    """Kernel messages: seconds, priority, text."""
    drives: Mapping[str, Drive] = field(default_factory=dict)
    """What smartctl says, by kernel name."""
    radios: Mapping[str, tuple[bytes, ...]] = field(default_factory=dict)
    """Messages of nl80211, by question."""
    screens: Mapping[str, ScreenHost] = field(default_factory=dict)
    """Panels, by the kernel's name of their channel and of their I2C bus."""

    @property
    def description(self) -> str:
        """The devices in the text form of ``umockdev-record``."""
        return "\n".join(_described(node) for node in self.nodes)

    @property
    def files(self) -> dict[str, bytes]:
        """Files outside of devices, and the kernel's log as /dev/kmsg gives it."""
        found = {path: _bytes(content) for path, content in self.extra.items()}
        found["/dev/kmsg"] = b"".join(
            f"{priority},{number},{int(seconds * 1e6)},-;{text}\n".encode()
            for number, (seconds, priority, text) in enumerate(self.log)
        )
        return found

    def smartctl_answers(self) -> str:
        """What the stand-in for smartctl reads."""
        return json.dumps({name: drive.answers() for name, drive in self.by_node.items()})

    @property
    def by_node(self) -> dict[str, Drive]:
        """What smartctl says, by kernel name and by name of the SCSI generic node beside it."""
        found = dict(self.drives)
        for node in self.nodes:
            if node.subsystem != "scsi_generic":
                continue
            device = node.path.partition("/scsi_generic/")[0]
            beside = (n for n in self.nodes if n.path.startswith(f"{device}/block/"))
            asked = next((self.drives[n.name] for n in beside if n.name in self.drives), None)
            if asked is not None:
                found[node.name] = asked
        return found


def _bytes(content: Content) -> bytes:
    return content if isinstance(content, bytes) else f"{content}\n".encode()


def _described(node: Node) -> str:
    lines = [f"P: {node.path.removeprefix('/sys')}", f"E: SUBSYSTEM={node.subsystem}"]
    lines += [f"E: {key}={value}" for key, value in node.properties.items()]
    if node.driver:
        lines += [f"E: DRIVER={node.driver}"]
        up = "../" * (node.path.count("/") - 1)
        lines += [f"L: driver={up}bus/{node.subsystem}/drivers/{node.driver}"]
    if node.node:
        lines.insert(1, f"N: {node.name}")
    for name, content in node.files.items():
        if isinstance(content, bytes):
            lines.append(f"H: {name}={content.hex().upper()}")
        else:
            escaped = content.replace("\\", "\\\\").replace("\n", "\\n")
            lines.append(f"A: {name}={escaped}\\n")
    return "\n".join(lines) + "\n"


class BedHost:
    """A host that answers from a bed; its clock stands still."""

    def __init__(self, bed: Bed) -> None:
        self._bed = bed
        self._nodes = {node.path: node for node in bed.nodes}
        self._files = {**bed.files}
        for node in bed.nodes:
            for name, content in node.files.items():
                self._files[f"{node.path}/{name}"] = _bytes(content)
        self._links = {self._class_path(node): node.path for node in bed.nodes}

    def garble(self, path: str) -> None:
        """Make one file noise, as of a device that lies."""
        self._files[path] = b"\xff\x00-1 \xc3(\n" * 9

    def _class_path(self, node: Node) -> str:
        if node.subsystem in BUSES:
            return f"/sys/bus/{node.subsystem}/devices/{node.name}"
        return f"/sys/class/{node.subsystem}/{node.name}"

    def _real(self, path: str) -> str:
        match = re.match(r"(/sys/bus/[^/]+/devices/[^/]+|/sys/class/[^/]+/[^/]+)", path)
        if match and match[1] in self._links:
            return self._links[match[1]] + path[match.end() :]
        return path

    def scope(self, name: str) -> Host:
        return self

    def facts(self) -> Facts:
        return Facts(
            kernel="Linux 6.12.0", machine="x86_64", as_root=True, now="2026-03-02T09:00:00+00:00"
        )

    def read(self, path: str) -> bytes:
        try:
            return self._files[self._real(path)]
        except KeyError:
            raise Unreadable(path, errno.ENOENT) from None

    def names(self, path: str) -> tuple[str, ...]:
        start = self._real(path).rstrip("/") + "/"
        known = (*self._files, *self._nodes, *self._links)
        return tuple(
            sorted({p[len(start) :].partition("/")[0] for p in known if p.startswith(start)})
        )

    def target(self, path: str) -> str | None:
        return self._links.get(path)

    def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
        found = (self._udev(n) for n in self._bed.nodes if n.subsystem == subsystem)
        return tuple(sorted(found, key=lambda d: d.path))

    def _udev(self, node: Node) -> UdevDevice:
        parent = node.path.rpartition("/")[0]
        while parent and parent not in self._nodes:
            parent = parent.rpartition("/")[0]
        return UdevDevice(
            subsystem=node.subsystem,
            name=node.name,
            path=node.path,
            parent=parent or None,
            driver=node.driver,
            properties=dict(node.properties),
        )

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        return tuple(KernelMessage(s, priority, text) for s, priority, text in self._bed.log)

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        drive = self._bed.by_node.get(argv[-1].removeprefix("/dev/"))
        if argv[0] != "smartctl" or drive is None:
            return CommandResult(None, b"", b"", f"{argv[0]} is not installed")
        return CommandResult(*drive.answer(argv[1:]), b"")

    def block(self, device: str, offset: int, length: int) -> bytes:
        raise Unreadable(device, errno.ENOENT)

    def radio(self, question: str, index: int | None = None) -> tuple[bytes, ...]:
        return self._bed.radios.get(question, ())

    def aux(self, device: str, offset: int, length: int) -> bytes:
        return self._screen(device).aux(device, offset, length)

    def edid_block(self, device: str) -> bytes:
        return self._screen(device).edid_block(device)

    def _screen(self, device: str) -> ScreenHost:
        try:
            return self._bed.screens[device.rpartition("/")[2]]
        except KeyError:
            raise Unreadable(device, errno.ENOENT) from None

    def clock(self) -> float:
        return 0.0

    def wait(self, seconds: float) -> None:
        for screen in set(self._bed.screens.values()):
            if isinstance(screen, Host):
                screen.wait(seconds)
