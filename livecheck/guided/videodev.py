"""Layouts and numbers of the kernel's camera interface (include/uapi/linux/videodev2.h). Pure."""

from __future__ import annotations

import struct
from enum import IntEnum
from typing import Final

import msgspec


class Ioctl(IntEnum):
    """Requests to a video node: VIDIOC_…"""

    QUERYCAP = 0x80685600
    S_FMT = 0xC0D05605
    REQBUFS = 0xC0145608
    QUERYBUF = 0xC0585609
    QBUF = 0xC058560F
    DQBUF = 0xC0585611
    STREAMON = 0x40045612
    STREAMOFF = 0x40045613


class Size(IntEnum):
    """Bytes of struct v4l2_capability, v4l2_format, v4l2_requestbuffers, v4l2_buffer."""

    CAPABILITY = 104
    FORMAT = 208
    REQUEST = 20
    BUFFER = 88


class Flag(IntEnum):
    """Bits and numbers of those structs."""

    CAPTURE = 1
    """V4L2_BUF_TYPE_VIDEO_CAPTURE, and V4L2_CAP_VIDEO_CAPTURE."""
    STREAMING = 0x04000000
    HAS_DEVICE_CAPS = 0x80000000
    ERROR = 0x40


MEMORY_MMAP: Final = 1

FORMATS: Final = {
    b"YUYV": (0, 2),
    b"UYVY": (1, 2),
    b"GREY": (0, 1),
    b"NV12": (0, 1),
    b"YU12": (0, 1),
}
"""Format -> first byte of brightness, and bytes from one to the next."""
WIDTH, HEIGHT = 640, 480


class Format(msgspec.Struct, frozen=True, kw_only=True):
    """What the driver agreed to."""

    width: int
    height: int
    code: bytes
    stride: int


def asked(code: bytes) -> bytearray:
    """struct v4l2_format that asks for a size and a format."""
    form = bytearray(Size.FORMAT)
    struct.pack_into("=I", form, 0, Flag.CAPTURE)
    struct.pack_into("=II4sI", form, 8, WIDTH, HEIGHT, code, 1)
    return form


def answered(form: bytearray) -> Format:
    """What the driver wrote into it."""
    width, height, code, _, stride = struct.unpack_from("=II4sII", form, 8)
    step = FORMATS.get(code, (0, 1))[1]
    return Format(width=width, height=height, code=code, stride=stride or width * step)


def brightness(frame: bytes, form: Format) -> bytes:
    """One byte a pixel, without the padding at the ends of lines."""
    first, step = FORMATS[form.code]
    lines = (
        frame[y * form.stride + first : y * form.stride + form.width * step : step]
        for y in range(form.height)
    )
    return b"".join(lines)
