"""Device-mapper targets by ioctl, for the guest: no tool for them is on the stick.

Layout: Linux ``include/uapi/linux/dm-ioctl.h``; the targets' arguments:
Documentation/admin-guide/device-mapper.
"""

from __future__ import annotations

import fcntl
import os
import struct
from collections.abc import Sequence
from pathlib import Path
from typing import Final

CREATE, SUSPEND, LOAD = 3, 6, 9
HEAD: Final = struct.Struct("3I I I I i I I I Q 128s 129s 7s")
SPEC: Final = struct.Struct("Q Q i I 16s")

Target = tuple[int, int, str, str]
"""First sector, sectors, target, arguments."""


def make(name: str, targets: Sequence[Target]) -> str:
    """Kernel name (``dm-0``) of a new mapped device."""
    control = os.open("/dev/mapper/control", os.O_RDWR)
    try:
        _call(control, CREATE, name)
        _call(control, LOAD, name, b"".join(_target(one) for one in targets), len(targets))
        _call(control, SUSPEND, name)  # without the suspend flag: resume
    finally:
        os.close(control)
    return next(
        entry.name
        for entry in Path("/sys/block").glob("dm-*")
        if (entry / "dm/name").read_text("utf-8").strip() == name
    )


def _target(target: Target) -> bytes:
    start, length, kind, arguments = target
    text = arguments.encode() + b"\0"
    text += bytes(-len(text) % 8)
    return SPEC.pack(start, length, 0, SPEC.size + len(text), kind.encode()) + text


def _call(control: int, number: int, name: str, data: bytes = b"", targets: int = 0) -> None:
    size = HEAD.size + len(data)
    head = HEAD.pack(4, 0, 0, size, HEAD.size, targets, 0, 0, 0, 0, 0, name.encode(), b"", b"")
    request = 3 << 30 | HEAD.size << 16 | 0xFD << 8 | number
    fcntl.ioctl(control, request, bytearray(head + data))
