"""What the memory probe runs at each depth, and how long that takes."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck.native.backgrounds import BACKGROUNDS
from livecheck.native.messages import Pass
from livecheck.native.notation import TESTS, MarchTest, Order

QUICK_SECONDS: Final = 90.0
FULL_SECONDS: Final = 30 * 60.0
SOAK_SECONDS: Final = 4 * 3600.0


class Depth(msgspec.Struct, frozen=True, kw_only=True):
    passes: tuple[Pass, ...]
    seconds: float
    """Time after which it ends, finished or not."""
    repeat: bool = False


def _pass(test: str, background: str, order: Order = Order.UP) -> Pass:
    return Pass(0, TESTS[test], BACKGROUNDS[background], any_order=order)


_QUICK = (_pass("March C-", "address"), _pass("March C-", "random", Order.DOWN))
_EVERY_BACKGROUND = tuple(
    _pass("March C-", name, Order.DOWN if index % 2 else Order.UP)
    for index, name in enumerate(BACKGROUNDS)
)
_READ_FAULTS = (_pass("March SS", "checkerboard"), _pass("PMOVI", "column stripes"))
"""Read and write disturb faults, which March C- does not reach; every operation waits."""

DEPTHS: Final[dict[str, Depth]] = {
    "quick": Depth(passes=_QUICK, seconds=QUICK_SECONDS),
    "full": Depth(passes=(*_EVERY_BACKGROUND, *_READ_FAULTS), seconds=FULL_SECONDS),
    "soak": Depth(passes=(*_EVERY_BACKGROUND, *_READ_FAULTS), seconds=SOAK_SECONDS, repeat=True),
}


def plain_operations(test: MarchTest) -> int:
    """Operations a cell that run at memory speed: each line's first, and a write after a read."""
    return sum(_plain(tuple(op.write for op in e.ops)) for e in test.elements)


def _plain(writes: tuple[bool, ...]) -> int:
    before = (None, *writes)
    pairs = zip(before, writes, strict=False)
    return sum(old is None or (old is False and new) for old, new in pairs)


def estimate(depth: Depth, size: int, plain: float, waiting: float) -> float:
    """Seconds for one turn of the depth's passes over ``size`` bytes, at most its time.

    ``plain`` and ``waiting``: bytes a second of operations at memory speed, and
    of those that wait for the one before to reach memory.
    """
    if depth.repeat:
        return depth.seconds
    seconds = 0.0
    for todo in depth.passes:
        fast = plain_operations(todo.test)
        seconds += size * (fast / plain + (todo.test.operations - fast) / waiting)
    return min(seconds, depth.seconds)
