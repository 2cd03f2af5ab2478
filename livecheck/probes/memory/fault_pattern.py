"""What the wrong words have in common: data bits, addresses, modules."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from livecheck.native.backgrounds import LINE, MASK
from livecheck.native.messages import LocatedWord
from livecheck.probes.memory.address_map import MemoryMap

NEAR = 8192
"""Bytes of one row of a usual module (eight chips of 1 KiB pages, JESD79, from memory)."""


class FaultPattern(msgspec.Struct, frozen=True, kw_only=True):
    """The readings the wrong words give together."""

    words: int
    """Different addresses that failed."""
    bits: tuple[int, ...]
    """Data bits that were wrong anywhere, 0 to 63."""
    lanes: tuple[int, ...]
    """Byte lanes they lie in, 0 to 7."""
    stored: int
    """Of the words listed, how many still held the wrong value when read again."""
    per_module: dict[str, tuple[int, ...]]
    """Module -> wrong bits, for words that lie in one module for certain."""
    unsure: int
    """Words that may lie in any of several modules."""
    aliased: tuple[tuple[int, int], ...]
    """(offset, offset it held instead): words that held another address's content."""
    near: bool
    """All within one row's length: one spot, as far as physical addresses are known."""

    @property
    def same_bits_everywhere(self) -> bool | None:
        """The same data bits in every module that failed; None when fewer than two did."""
        if len(self.per_module) < 2:
            return None
        return len(set(self.per_module.values())) == 1 and len(self.bits) <= 8

    @property
    def address_bits(self) -> tuple[int, ...]:
        """Address bits that differ in every aliased pair: a line that does not switch."""
        if not self.aliased:
            return ()
        common = MASK
        for here, there in self.aliased:
            common &= here ^ there
        return tuple(bit for bit in range(64) if common >> bit & 1)


def read(found: Sequence[LocatedWord], modules: MemoryMap, size: int) -> FaultPattern:
    """Put the wrong words together. ``size``: bytes under test, for aliased addresses."""
    addresses = {entry.wrong.address for entry in found}
    flipped = 0
    wrong_bits: dict[str, int] = {}
    unsure = 0
    for entry in found:
        flipped |= entry.wrong.flipped
        owners = modules.modules_at(entry.physical)
        if len(owners) == 1:
            wrong_bits[owners[0]] = wrong_bits.get(owners[0], 0) | entry.wrong.flipped
        else:
            unsure += 1
    bits = _bits(flipped)
    known = [entry.physical for entry in found if entry.physical is not None]
    return FaultPattern(
        words=len(addresses),
        bits=bits,
        lanes=tuple(sorted({bit // 8 for bit in bits})),
        stored=sum(entry.wrong.again == entry.wrong.read for entry in found),
        per_module={module: _bits(mask) for module, mask in sorted(wrong_bits.items())},
        unsure=unsure,
        aliased=_aliased(found, size),
        near=bool(known) and len(known) == len(found) and max(known) - min(known) < NEAR,
    )


def _bits(mask: int) -> tuple[int, ...]:
    return tuple(bit for bit in range(64) if mask >> bit & 1)


def _aliased(found: Sequence[LocatedWord], size: int) -> tuple[tuple[int, int], ...]:
    """Words of the address background that held what another address was given.

    When two addresses reach one cell, the second visited of them finds the
    complement of the first one's content: every bit wrong but the address bit
    they differ in. A stuck data line never turns 63 bits.
    """
    pairs = []
    for entry in found:
        right = entry.wrong.flipped ^ MASK
        if entry.wrong.background != "address" or right.bit_count() != 1 or right < LINE:
            continue
        if (there := entry.offset ^ right) < size:
            pairs.append((entry.offset, there))
    return tuple(pairs)


def bit_words(bits: Sequence[int]) -> str:
    """How a technician would name the bits."""
    if len(bits) == 1:
        return f"data bit {bits[0]}"
    if len(bits) <= 8:
        return "data bits " + ", ".join(map(str, bits))
    return f"{len(bits)} of the 64 data bits"
