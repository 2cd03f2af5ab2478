"""The flex test: plug and lead are moved, and every loss of power is counted and timed."""

from livecheck.flex.compare import Trial, compare
from livecheck.flex.counter import Counter, FlexResult, Loss
from livecheck.flex.readings import CHECK, readings
from livecheck.flex.watch import Look, Supply, supplies, watch

__all__ = [
    "CHECK",
    "Counter",
    "FlexResult",
    "Look",
    "Loss",
    "Supply",
    "Trial",
    "compare",
    "readings",
    "supplies",
    "watch",
]
