"""A few frames of a camera by the kernel's own interface (include/uapi/linux/videodev2.h).

Only formats whose brightness lies open in the bytes are asked for; every camera of the
USB video class known to us offers YUYV. A frame is looked at and dropped.
"""

from __future__ import annotations

import contextlib
import fcntl
import mmap
import os
import select
import struct
import time
from collections.abc import Iterator
from typing import Final

from livecheck.guided.bench import CannotAct
from livecheck.guided.camera import figures
from livecheck.guided.events import Frames
from livecheck.guided.videodev import (
    FORMATS,
    MEMORY_MMAP,
    Flag,
    Format,
    Ioctl,
    Size,
    answered,
    asked,
    brightness,
)

BUFFERS: Final = 4
WARM_UP: Final = 8
"""Frames that are let go: exposure and white balance have to settle."""
TAKEN: Final = 4
FRAME_SECONDS: Final = 3.0


def frames(number: int, node: str) -> Frames:
    """Figures of the last frames of a short film. Raises CannotAct."""
    try:
        with _opened(node) as descriptor:
            form = _agree(descriptor)
            with _buffers(descriptor) as buffers:
                planes, lost = _film(descriptor, form, buffers)
    except OSError as error:
        raise CannotAct(f"{node}: {error.strerror}") from error
    return figures(number, planes, form.width, form.height, lost)


@contextlib.contextmanager
def _opened(node: str) -> Iterator[int]:
    # The kernel shares buffers only with who opened the node for both ways (mm/mmap.c clears
    # VM_SHARED otherwise, which videobuf2 asks for). Nothing is ever written.
    descriptor = os.open(node, os.O_RDWR | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        yield descriptor
    finally:
        os.close(descriptor)


def _agree(descriptor: int) -> Format:
    room = bytearray(Size.CAPABILITY)
    fcntl.ioctl(descriptor, Ioctl.QUERYCAP, room)
    whole, device = struct.unpack_from("=II", room, 84)
    can = device if whole & Flag.HAS_DEVICE_CAPS else whole
    if not can & Flag.CAPTURE or not can & Flag.STREAMING:
        raise CannotAct("this video node gives no frames")
    for code in FORMATS:
        form = asked(code)
        with contextlib.suppress(OSError):
            fcntl.ioctl(descriptor, Ioctl.S_FMT, form)
            agreed = answered(form)
            if agreed.code == code:
                return agreed
    raise CannotAct("the camera offers no plain picture format (compressed ones only)")


@contextlib.contextmanager
def _buffers(descriptor: int) -> Iterator[list[mmap.mmap]]:
    """Buffers shared with the driver, queued and streaming."""
    maps: list[mmap.mmap] = []
    kind = struct.pack("=i", Flag.CAPTURE)
    try:
        request = bytearray(struct.pack("=III8x", BUFFERS, Flag.CAPTURE, MEMORY_MMAP))
        fcntl.ioctl(descriptor, Ioctl.REQBUFS, request)
        (count,) = struct.unpack_from("=I", request)
        for index in range(count):
            buffer = _buffer(index)
            fcntl.ioctl(descriptor, Ioctl.QUERYBUF, buffer)
            (offset,) = struct.unpack_from("=I", buffer, 64)
            (length,) = struct.unpack_from("=I", buffer, 72)
            maps.append(mmap.mmap(descriptor, length, prot=mmap.PROT_READ, offset=offset))
            fcntl.ioctl(descriptor, Ioctl.QBUF, _buffer(index))
        fcntl.ioctl(descriptor, Ioctl.STREAMON, kind)
        yield maps
    finally:
        with contextlib.suppress(OSError):
            fcntl.ioctl(descriptor, Ioctl.STREAMOFF, kind)
        for one in maps:
            one.close()


def _buffer(index: int) -> bytearray:
    buffer = bytearray(Size.BUFFER)
    struct.pack_into("=II", buffer, 0, index, Flag.CAPTURE)
    struct.pack_into("=I", buffer, 60, MEMORY_MMAP)
    return buffer


def _film(descriptor: int, form: Format, maps: list[mmap.mmap]) -> tuple[list[bytes], int]:
    planes: list[bytes] = []
    lost, last = 0, None
    for turn in range(WARM_UP + TAKEN):
        buffer = _next(descriptor)
        index, _, used, flags = struct.unpack_from("=IIII", buffer, 0)
        (sequence,) = struct.unpack_from("=I", buffer, 56)
        if last is not None:
            lost += max(0, sequence - last - 1)
        last = sequence
        if flags & Flag.ERROR:
            lost += 1
        elif turn >= WARM_UP:
            planes.append(brightness(maps[index][:used], form))
        fcntl.ioctl(descriptor, Ioctl.QBUF, _buffer(index))
    return planes, lost


def _next(descriptor: int) -> bytearray:
    until = time.monotonic() + FRAME_SECONDS
    while time.monotonic() < until:
        readable, _, _ = select.select([descriptor], [], [], 0.25)
        if readable:
            buffer = _buffer(0)
            try:
                fcntl.ioctl(descriptor, Ioctl.DQBUF, buffer)
            except BlockingIOError:
                continue
            return buffer
    raise CannotAct(f"the camera gave no frame in {FRAME_SECONDS:.0f} s")
