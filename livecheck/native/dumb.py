"""Memory that pictures are made in: dumb buffers of a display device, mapped for the processor.

What the driver gives lies in the graphics chip's own memory where it has some, else in main
memory set aside for it. A buffer is shown on no screen and holds nothing of anybody's; it is
given back at the end. Structures: Linux, ``include/uapi/drm/drm_mode.h`` and ``drm.h``.
"""

from __future__ import annotations

import contextlib
import fcntl
import mmap
import os
import struct
from collections.abc import Iterator
from typing import Final

from .region import Block, Region

DROP_MASTER: Final = 0x641F
CREATE_DUMB: Final = 0xC02064B2
MAP_DUMB: Final = 0xC01064B3
DESTROY_DUMB: Final = 0xC00464B4
_CREATE: Final = struct.Struct("@IIIIIIQ")
"""height, width, bits a pixel, flags; out: handle, pitch, size."""
_MAP: Final = struct.Struct("@IIQ")
"""handle, padding; out: offset to map at."""
WIDTH: Final = 2048
"""Pixels of four bytes: a row of 8 KiB."""
BUFFER: Final = 16 << 20
"""Bytes asked for at a time."""


class Buffers:
    """Buffers held of one display device."""

    def __init__(self, node: str) -> None:
        """Raises OSError."""
        # Mapping for writing asks for a node that is open for writing.
        self._card = os.open(node, os.O_RDWR | os.O_CLOEXEC)
        self._handles: list[int] = []
        self.region = Region()
        with contextlib.suppress(OSError):
            # The first to open a card rules its screens: the console is to keep them.
            fcntl.ioctl(self._card, DROP_MASTER)

    def grow(self) -> bool:
        """One buffer more; False, with the region's ``refusal`` set, when there is none."""
        asked = bytearray(_CREATE.pack(BUFFER // (WIDTH * 4), WIDTH, 32, 0, 0, 0, 0))
        try:
            fcntl.ioctl(self._card, CREATE_DUMB, asked)
            *_, handle, _pitch, size = _CREATE.unpack(asked)
            self._handles.append(handle)
            where = bytearray(_MAP.pack(handle, 0, 0))
            fcntl.ioctl(self._card, MAP_DUMB, where)
            memory = mmap.mmap(self._card, size, offset=_MAP.unpack(where)[2])
        except OSError as error:
            self.region.refusal = f"the driver gave no more: {error.strerror}"
            return False
        base = sum(block.lines for block in self.region.blocks)
        self.region.blocks.append(Block(memory, base, locked=True))
        return True

    def close(self) -> None:
        """Give everything back."""
        self.region.close()
        for handle in self._handles:
            with contextlib.suppress(OSError):
                fcntl.ioctl(self._card, DESTROY_DUMB, bytearray(struct.pack("@I", handle)))
        os.close(self._card)


@contextlib.contextmanager
def held(node: str, wanted: int) -> Iterator[Region]:
    """As much as the driver gives, up to ``wanted`` bytes. Raises OSError for the node itself."""
    buffers = Buffers(node)
    try:
        while len(buffers.region) < wanted and buffers.grow():
            pass
        yield buffers.region
    finally:
        buffers.close()
