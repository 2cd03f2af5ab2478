"""Data backgrounds: what a 64-byte line holds for a march test's 0.

Word w of line i is ``key(i) ^ words[w]``; for 1 it is the complement. The key
is one 64-bit value a line, so every background costs the kernel the same two
instructions. Which physical cells become neighbours is the memory
controller's secret: no background below claims a physical layout.
"""

from __future__ import annotations

import enum
import struct

import msgspec

MASK = (1 << 64) - 1
LINE = 64
"""Bytes in a cache line, the smallest piece the kernel tests."""
WORDS = LINE // 8


class LineKey(enum.IntEnum):
    """How the value of a line depends on its number; the codes of _march.c."""

    NONE = 0
    ALTERNATE = 1
    """All ones in every odd line."""
    ADDRESS = 2
    """The byte offset of the line."""
    RANDOM = 3
    """splitmix64(seed + line)."""


class Background(msgspec.Struct, frozen=True):
    name: str
    key: LineKey
    words: tuple[int, ...]
    meant_for: str
    """What this background is good at, in a sentence for the plan."""

    def packed(self) -> bytes:
        return struct.pack(f"={WORDS}Q", *self.words)

    def line(self, number: int, bit: int, seed: int = 0) -> tuple[int, ...]:
        """The eight words of a line, in plain Python: the oracle of the kernel."""
        key = line_key(self.key, number, seed) ^ (MASK if bit else 0)
        return tuple(word ^ key for word in self.words)


def splitmix64(counter: int) -> int:
    """Output function of Steele, Lea, Flood, OOPSLA 2014, at a given counter."""
    z = counter * 0x9E3779B97F4A7C15 & MASK
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9 & MASK
    z = (z ^ (z >> 27)) * 0x94D049BB133111EB & MASK
    return z ^ (z >> 31)


def line_key(key: LineKey, number: int, seed: int) -> int:
    match key:
        case LineKey.NONE:
            return 0
        case LineKey.ALTERNATE:
            return MASK if number & 1 else 0
        case LineKey.ADDRESS:
            return number * LINE & MASK
        case LineKey.RANDOM:
            return splitmix64(seed + number & MASK)


_STRIPES = 0x5555555555555555

BACKGROUNDS: dict[str, Background] = {
    background.name: background
    for background in (
        Background("solid", LineKey.NONE, (0,) * WORDS, "every data line at the same level"),
        Background(
            "checkerboard",
            LineKey.ALTERNATE,
            (_STRIPES, _STRIPES ^ MASK) * (WORDS // 2),
            "each bit against its neighbours in the word, the next word and the next line",
        ),
        Background("column stripes", LineKey.NONE, (_STRIPES,) * WORDS, "neighbouring data lines"),
        Background(
            "row stripes", LineKey.ALTERNATE, (0,) * WORDS, "all data lines switching at once"
        ),
        Background(
            "address",
            LineKey.ADDRESS,
            tuple(range(0, LINE, 8)),
            "address lines and decoders: each word holds its own offset",
        ),
        Background(
            "random",
            LineKey.RANDOM,
            tuple(splitmix64(-1 - word & MASK) for word in range(WORDS)),
            "patterns nobody thought of; other values in every pass",
        ),
    )
}
"""Name -> background, simplest first."""
