"""Errors of a link while it is watched, from counters that some screens clear and some keep. Pure.

The standard has a screen clear its counts as they are read (VESA DisplayPort, from memory);
not all do. So each look reads twice: a count that fell between the two was cleared by the first.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck.displayport.registers import Screen

BIT_ERROR_RATE: Final = 1e-9
"""Of a lane, which a sound link stays under (VESA DisplayPort, from memory)."""
FULL: Final = 0x7FFF
"""Where a count stays."""


class SymbolErrors:
    """Takes looks in order of time; the first only says where the counts stood."""

    def __init__(self) -> None:
        self._left: list[int | None] | None = None
        self.lanes: list[int] = []
        """Errors of each lane so far."""
        self.counted = False
        """True: at least one lane was counted in two looks."""
        self.full = False
        """True: a count ran to its end, so there were more."""

    @property
    def total(self) -> int:
        """Errors of all lanes so far."""
        return sum(self.lanes)

    def look(self, first: Screen, second: Screen) -> int:
        """One look, read twice; errors since the look before."""
        before, self._left = self._left, []
        found = 0
        for lane, (one, two) in enumerate(zip(first.errors, second.errors, strict=False)):
            self._left.append(_left(one, two))
            self.full |= one == FULL
            if before is None or lane >= len(before):
                continue
            new = _risen(before[lane], one, two)
            if new is not None:
                self.counted = True
                self.lanes += [0] * (lane + 1 - len(self.lanes))
                self.lanes[lane] += new
                found += new
        return found


def _left(one: int | None, two: int | None) -> int | None:
    """Where the next look's count starts from."""
    return 0 if one is not None and two is not None and two < one else two


def _risen(left: int | None, one: int | None, two: int | None) -> int | None:
    if left is None or one is None:
        return None
    more = 0 if two is None else two if two < one else two - one
    return (one - left if one >= left else one) + more


def allowed(screens: Sequence[Screen], seconds: float, rate: float = BIT_ERROR_RATE) -> float:
    """Errors that a link as fast as this may have in a time; 0 where its speed is not known."""
    speeds = [(s.lanes or 0) * (s.gbps or 0.0) * 1e9 for s in screens]
    return max(speeds, default=0.0) * seconds * rate
