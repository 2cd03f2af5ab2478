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

import msgspec

from livecheck.guided.bench import Refused
from livecheck.guided.camera import figures
from livecheck.guided.model import Frames

QUERYCAP: Final = 0x80685600
S_FMT: Final = 0xC0D05605
REQBUFS: Final = 0xC0145608
QUERYBUF: Final = 0xC0585609
QBUF: Final = 0xC058560F
DQBUF: Final = 0xC0585611
STREAMON: Final = 0x40045612
STREAMOFF: Final = 0x40045613
CAPABILITY_SIZE, FORMAT_SIZE, REQUEST_SIZE, BUFFER_SIZE = 104, 208, 20, 88

CAPTURE: Final = 1
"""V4L2_BUF_TYPE_VIDEO_CAPTURE, and V4L2_CAP_VIDEO_CAPTURE."""
STREAMING: Final = 0x04000000
HAS_DEVICE_CAPS: Final = 0x80000000
MEMORY_MMAP: Final = 1
FLAG_ERROR: Final = 0x40

FORMATS: Final = {
    b"YUYV": (0, 2),
    b"UYVY": (1, 2),
    b"GREY": (0, 1),
    b"NV12": (0, 1),
    b"YU12": (0, 1),
}
"""Format -> first byte of brightness, and bytes from one to the next."""
WIDTH, HEIGHT = 640, 480
BUFFERS: Final = 4
WARM_UP: Final = 8
"""Frames that are let go: exposure and white balance have to settle."""
TAKEN: Final = 4
FRAME_SECONDS: Final = 3.0


class Format(msgspec.Struct, frozen=True, kw_only=True):
    """What the driver agreed to."""

    width: int
    height: int
    code: bytes
    stride: int


def frames(number: int, node: str) -> Frames:
    """Figures of the last frames of a short film. Raises Refused."""
    try:
        with _opened(node) as descriptor:
            form = _agree(descriptor)
            with _buffers(descriptor) as buffers:
                planes, lost = _film(descriptor, form, buffers)
    except OSError as error:
        raise Refused(f"{node}: {error.strerror}") from error
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
    room = bytearray(CAPABILITY_SIZE)
    fcntl.ioctl(descriptor, QUERYCAP, room)
    whole, device = struct.unpack_from("=II", room, 84)
    can = device if whole & HAS_DEVICE_CAPS else whole
    if not can & CAPTURE or not can & STREAMING:
        raise Refused("this video node gives no frames")
    for code in FORMATS:
        form = asked(code)
        with contextlib.suppress(OSError):
            fcntl.ioctl(descriptor, S_FMT, form)
            agreed = answered(form)
            if agreed.code == code:
                return agreed
    raise Refused("the camera offers no plain picture format (compressed ones only)")


def asked(code: bytes) -> bytearray:
    """struct v4l2_format that asks for a size and a format."""
    form = bytearray(FORMAT_SIZE)
    struct.pack_into("=I", form, 0, CAPTURE)
    struct.pack_into("=II4sI", form, 8, WIDTH, HEIGHT, code, 1)
    return form


def answered(form: bytearray) -> Format:
    """What the driver wrote into it."""
    width, height, code, _, stride = struct.unpack_from("=II4sII", form, 8)
    step = FORMATS.get(code, (0, 1))[1]
    return Format(width=width, height=height, code=code, stride=stride or width * step)


@contextlib.contextmanager
def _buffers(descriptor: int) -> Iterator[list[mmap.mmap]]:
    """Buffers shared with the driver, queued and streaming."""
    maps: list[mmap.mmap] = []
    kind = struct.pack("=i", CAPTURE)
    try:
        request = bytearray(struct.pack("=III8x", BUFFERS, CAPTURE, MEMORY_MMAP))
        fcntl.ioctl(descriptor, REQBUFS, request)
        (count,) = struct.unpack_from("=I", request)
        for index in range(count):
            buffer = _buffer(index)
            fcntl.ioctl(descriptor, QUERYBUF, buffer)
            (offset,) = struct.unpack_from("=I", buffer, 64)
            (length,) = struct.unpack_from("=I", buffer, 72)
            maps.append(mmap.mmap(descriptor, length, prot=mmap.PROT_READ, offset=offset))
            fcntl.ioctl(descriptor, QBUF, _buffer(index))
        fcntl.ioctl(descriptor, STREAMON, kind)
        yield maps
    finally:
        with contextlib.suppress(OSError):
            fcntl.ioctl(descriptor, STREAMOFF, kind)
        for one in maps:
            one.close()


def _buffer(index: int) -> bytearray:
    buffer = bytearray(BUFFER_SIZE)
    struct.pack_into("=II", buffer, 0, index, CAPTURE)
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
        if flags & FLAG_ERROR:
            lost += 1
        elif turn >= WARM_UP:
            planes.append(brightness(maps[index][:used], form))
        fcntl.ioctl(descriptor, QBUF, _buffer(index))
    return planes, lost


def _next(descriptor: int) -> bytearray:
    until = time.monotonic() + FRAME_SECONDS
    while time.monotonic() < until:
        readable, _, _ = select.select([descriptor], [], [], 0.25)
        if readable:
            buffer = _buffer(0)
            try:
                fcntl.ioctl(descriptor, DQBUF, buffer)
            except BlockingIOError:
                continue
            return buffer
    raise Refused(f"the camera gave no frame in {FRAME_SECONDS:.0f} s")


def brightness(frame: bytes, form: Format) -> bytes:
    """One byte a pixel, without the padding at the ends of lines."""
    first, step = FORMATS[form.code]
    lines = (
        frame[y * form.stride + first : y * form.stride + form.width * step : step]
        for y in range(form.height)
    )
    return b"".join(lines)
