"""Streams of saved logs, unpacked: how long is read of them, and in how much memory.

Packed files unpack to any length (gzip to a thousandfold, xz far beyond), and an xz stream says
how much memory it wants (The .xz File Format, 5.3.1: up to 4 GiB). Logs come from customers'
drives.
"""

from __future__ import annotations

import gzip
import io
import lzma
import re
import time
import zlib
from typing import BinaryIO, Final, cast

SECONDS: Final = 300.0
"""For all that is read in one go; a million messages take about a minute."""
XZ_BYTES: Final = 80 << 20
"""What ``xz -9`` wants for unpacking is 65 MiB (xz(1))."""
PIECE: Final = 1 << 16
MOST_ZEROS: Final = 64 << 20
"""Assumed: a file system leaves zeros where it was cut off; behind so many nothing comes."""


class NoText(Exception):
    """A stream is no text: packed once more, or in a way that is not read, or zeros alone."""


DAMAGE: Final = (EOFError, gzip.BadGzipFile, lzma.LZMAError, zlib.error, NoText)
"""What a packed stream that is not whole raises, or one of no text."""


class Patience:
    """How long reading may take, over all the streams of one go."""

    def __init__(self, seconds: float = SECONDS) -> None:
        self.seconds = seconds
        self._end = time.monotonic() + seconds
        self.over = False

    def is_over(self) -> bool:
        """Asked before each line."""
        self.over = self.over or time.monotonic() > self._end
        return self.over


_NO_TEXT: Final = re.compile(rb"\x1f\x8b|\xfd7zXZ|BZh[1-9]|PK\x03\x04|\x28\xb5\x2f\xfd")
"""What gzip, xz, bzip2, zip and zstd begin with."""


class PatientStream:
    """A stream that ends early once patience does."""

    def __init__(self, stream: BinaryIO, patience: Patience) -> None:
        self._stream, self._patience = stream, patience
        self._begun = False
        self._zeros = 0

    def readline(self, size: int, /) -> bytes:
        """One line, or its first bytes; empty at the end. Raises NoText."""
        line = b"" if self._patience.is_over() else self._stream.readline(size)
        if not self._begun and _NO_TEXT.match(line):
            raise NoText("it is no text; unpack it first")
        self._begun = True
        self._zeros = 0 if line.strip(b"\0") else self._zeros + len(line)
        if self._zeros > MOST_ZEROS:
            raise NoText("nothing but zeros follows")
        return line

    def read(self, size: int, /) -> bytes:
        """So many bytes, fewer at the end."""
        return b"" if self._patience.is_over() else self._stream.read(size)


class _XzStream(io.RawIOBase):
    """What xz packed, all streams of it. Raises as ``DAMAGE`` says."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._unpacking = lzma.LZMADecompressor(lzma.FORMAT_XZ, XZ_BYTES)

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]
        while True:
            packed = self._unpacking.unused_data if self._unpacking.eof else b""
            if not packed and (self._unpacking.eof or self._unpacking.needs_input):
                packed = self._file.read(PIECE)
                if not packed and self._unpacking.eof:
                    return 0
                if not packed:
                    raise EOFError("it ends too early")
            if self._unpacking.eof:
                self._unpacking = lzma.LZMADecompressor(lzma.FORMAT_XZ, XZ_BYTES)
            data = self._unpacking.decompress(packed, len(buffer))
            if data:
                buffer[: len(data)] = data
                return len(data)


def unpacked(file: io.BufferedReader) -> BinaryIO:
    """A log's own bytes, by what its first bytes say it is packed with."""
    begin = file.peek(6)[:6]
    if begin.startswith(b"\x1f\x8b"):
        return cast("BinaryIO", gzip.open(file))
    if begin == b"\xfd7zXZ\x00":
        return cast("BinaryIO", io.BufferedReader(_XzStream(file), PIECE))
    return file
