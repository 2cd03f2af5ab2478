"""Pictures as they leave the chip for a screen, by the kernel's checksums of each: pure.

Linux, ``drivers/gpu/drm/drm_debugfs_crc.c``, "CRC ABI": a line a frame, its number (or ten X)
and up to ten values, made in a way of the chip's own: all that can be told is whether frames
that should be the same are.
"""

from __future__ import annotations

import itertools
import re
from collections import Counter
from typing import Final

Frame = tuple[int, ...]
_LINE: Final = re.compile(rb"(?:0x[0-9a-f]{8}|X{10})((?: 0x[0-9a-f]{8}){1,10})")

BRIEF: Final = 2
"""Frames that a disturbance lasts at the most; what is drawn, and a cursor, stays for longer:
the console draws fifteen times a second, a cursor stays for 200 ms (Linux, ``vt.c``)."""
SETTLED: Final = 10
"""Frames of a picture by which it is known (assumed)."""


def parsed(data: bytes) -> tuple[Frame, ...]:
    """The values of each frame; what is no whole line is left out."""
    lines = data.split(b"\n")[:-1]
    found = (match[1] for line in lines if (match := _LINE.fullmatch(line)))
    return tuple(tuple(int(value, 16) for value in values.split()) for values in found)


def disturbed(frames: tuple[Frame, ...]) -> int:
    """Frames that differ from a picture which was there before them and is there after them."""
    runs = [(frame, sum(1 for _ in same)) for frame, same in itertools.groupby(frames)]
    often = Counter(frames)
    return sum(
        count
        for (before, _), (frame, count), (after, _) in zip(runs, runs[1:], runs[2:], strict=False)
        if count <= BRIEF
        and before == after
        and often[before] >= SETTLED
        and often[before] > often[frame]
    )
