"""What is told of a graphics chip under load. Needs no driver."""

from __future__ import annotations

from typing import Final

import msgspec

SOFTWARE: Final = "software"
"""In place of a node: Mesa's renderer that runs on the processor."""


class WrongImage(msgspec.Struct, frozen=True, kw_only=True):
    """One result that was not what it had to be."""

    kind: str
    """``integers``, ``compute`` or ``picture``."""
    seconds: float
    """Since the first result."""
    words: int
    """32-bit words that were wrong."""
    first: tuple[int, int]
    """Column and row of the first wrong pixel."""
    last: tuple[int, int]
    expected: int
    got: int
    """Of the first wrong word."""
    ever: int
    """Bits that were wrong in any word."""
    always: int
    """Bits that were wrong in every wrong word."""


class Beat(msgspec.Struct, frozen=True, kw_only=True, tag="beat"):
    """One look at a result; ``wrong`` says what was amiss."""

    kind: str
    seconds: float
    wrong: WrongImage | None = None


class Begun(msgspec.Struct, frozen=True, kw_only=True, tag="begun"):
    """The driver answers."""

    renderer: str
    version: str
    software: bool
    """Computed by the processor: no graphics chip has a part in it."""
    kinds: tuple[str, ...] = ()
    """Kinds of work it can do; empty: none."""


class Doubted(msgspec.Struct, frozen=True, kw_only=True, tag="doubted"):
    """The processor itself did not compute the same twice: its word is no reference."""


class Broken(msgspec.Struct, frozen=True, kw_only=True, tag="broken"):
    """It cannot go on."""

    says: str
    lost: bool = False
    """The kernel had to reset the chip: it hung."""


Message = Begun | Beat | Doubted | Broken
