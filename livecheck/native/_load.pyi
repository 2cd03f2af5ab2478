"""A processor load that checks its own results. See _load.c for how they are known."""

from typing import Literal

def work(
    kind: Literal["integer", "vector", "float"], rounds: int, seed: int, flip: int = 0, /
) -> tuple[int, int] | None:
    """Do 1 to 2**32 rounds of one kind of work on the calling thread's core.

    None when every result was right, else (expected, got) of the first wrong
    value. ``flip`` is for tests: its bits spoil one value half-way.
    ValueError for an unknown kind or count. The interpreter lock is released.
    """

def values(blocks: int, rounds: int, seed: int, /) -> bytes:
    """What rounds of the integer work of a graphics chip make of blocks of 64 words.

    All three from 0 to 2**32 - 1. The interpreter lock is released.
    """

def unit() -> str:
    """Name of the vector unit the work uses: sse2, avx2 or avx512."""
