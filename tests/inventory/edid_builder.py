"""Lays EDID blocks out byte by byte (VESA EDID 1.4), for tests."""

from __future__ import annotations

import struct


def sealed(block: bytes) -> bytes:
    """A block with the last byte that makes it sum to 0."""
    return block[:127] + bytes([-sum(block[:127]) & 0xFF])


def text(tag: int, words: str) -> bytes:
    return bytes([0, 0, 0, tag, 0]) + f"{words}\n".encode().ljust(13)[:13]


def timing(width: int = 1920, height: int = 1080, clock_khz: int = 138_500) -> bytes:
    """1920x1080 at 60 Hz with reduced blanking (160 and 31 lines), 309 mm by 174 mm."""
    across, down, wide, high = 160, 31, 309, 174
    return struct.pack("<H", clock_khz // 10) + bytes(
        [
            width & 255, across & 255, (width >> 8) << 4 | across >> 8,
            height & 255, down & 255, (height >> 8) << 4 | down >> 8,
            48, 32, 0x35, 0, wide & 255, high & 255, (wide >> 8) << 4 | high >> 8, 0, 0, 0x1A,
        ]
    )  # fmt: skip


def panel(
    serial: int = 0x1234, words: str = "SN-0815", product: int = 42, extensions: int = 0
) -> bytes:
    a, b, c = (ord(x) - 64 for x in "LNX")
    head = bytes.fromhex("00ffffffffffff00") + struct.pack(">H", a << 10 | b << 5 | c)
    head += struct.pack("<HI", product, serial) + bytes([5, 33, 1, 4, 0xA5, 31, 17, 120, 2])
    head += bytes(10) + bytes(3) + b"\x01" * 16
    body = head + timing() + text(0xFE, "TP140FH-01") + text(0xFC, "Test EDID")
    body += text(0xFF, words) + bytes([extensions, 0])
    return sealed(body)


def extension() -> bytes:
    """An empty CTA-861 extension block."""
    return sealed(bytes([2, 3, 4, 0]).ljust(128, b"\0"))
