"""Physical addresses of our own memory, from /proc/self/pagemap.

Format: Linux Documentation/admin-guide/mm/pagemap.rst. One 64-bit entry a
page: bit 63 the page is in memory, bits 0-54 its frame number, which the
kernel shows as 0 to everybody without CAP_SYS_ADMIN.
"""

from __future__ import annotations

import mmap
import os
import struct

PAGEMAP = "/proc/self/pagemap"

_ENTRY = struct.Struct("=Q")
_PRESENT = 1 << 63
_FRAME = (1 << 55) - 1


def physical(address: int) -> int | None:
    """Physical address behind a virtual address of this process.

    None when it cannot be had: no such right, or the page is not in memory.
    It holds until the page moves, which locked pages do only when compacted.
    """
    try:
        descriptor = os.open(PAGEMAP, os.O_RDONLY | os.O_CLOEXEC)
    except OSError:
        return None
    try:
        raw = os.pread(descriptor, _ENTRY.size, address // mmap.PAGESIZE * _ENTRY.size)
    except OSError:
        return None
    finally:
        os.close(descriptor)
    if len(raw) != _ENTRY.size:
        return None
    entry: int = _ENTRY.unpack(raw)[0]
    frame = entry & _FRAME
    if not entry & _PRESENT or frame == 0:
        return None
    return frame * mmap.PAGESIZE + address % mmap.PAGESIZE
