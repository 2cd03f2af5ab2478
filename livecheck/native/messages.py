"""What the memory test is told and what it tells. Needs no compiled kernel."""

from __future__ import annotations

import msgspec

from .backgrounds import Background
from .notation import MarchTest, Order


class Pass(msgspec.Struct, frozen=True):
    """One march test with one background over the whole region."""

    number: int
    test: MarchTest
    background: Background
    seed: int = 0
    any_order: Order = Order.UP
    kernel: str | None = None

    @property
    def title(self) -> str:
        return f"{self.test.name}, {self.background.name}"


class WrongWord(msgspec.Struct, frozen=True, kw_only=True):
    """One 64-bit word that did not hold what was written."""

    address: int
    """Virtual address of the word."""
    expected: int
    read: int
    again: int
    """A second read from memory; equal to ``expected`` when only the first read failed."""
    test: str
    background: str
    pass_number: int
    element: int
    operation: int
    cpu: int | None
    """The core that read it; None when the worker could not be pinned."""
    seconds: float
    """Since the start of the run."""

    @property
    def flipped(self) -> int:
        return self.expected ^ self.read


class LocatedWord(msgspec.Struct, frozen=True):
    """A wrong word, with where it lies in the machine."""

    wrong: WrongWord
    physical: int | None
    offset: int
    """Byte offset in the tested region; what the address background holds there."""


class Snapshot(msgspec.Struct, frozen=True, kw_only=True):
    """What the worker has done so far. ``found`` holds only what is new since the last one."""

    held: int = 0
    """Bytes under test now."""
    most: int = 0
    """Bytes under test at the most."""
    given_back: int = 0
    locked: bool = False
    refusal: str | None = None
    """Why it could not be locked, or why there was no more."""
    moved: int = 0
    """Bytes read and written."""
    wrong_words: int = 0
    found: tuple[LocatedWord, ...] = ()
    passes: tuple[str, ...] = ()
    """Passes finished."""
    now: str | None = None
    """The pass being run."""
    kernel: str = ""
    seconds: float = 0.0
    finished: bool = False
    """It came to the end of its job, or of its time after a whole pass."""
