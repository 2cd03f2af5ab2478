"""Guided checks: what the technician does with hand, eye and ear.

Each is a row of ``shared/guided.toml`` and a small state machine without I/O
(``livecheck.guided.model``). ``offered`` says which ones a machine has the hardware
for; ``guided.watcher`` and ``guided.drive`` are the shell that watches devices and acts;
a check's end is a reading like any other, or *not tested* when it was left out.
"""

from livecheck.guided.ending import left_out
from livecheck.guided.model import (
    Answered,
    Choice,
    Event,
    Guide,
    Keys,
    Offer,
    Pattern,
    Picture,
    Skip,
    Step,
    Table,
    Tick,
    Trace,
)
from livecheck.guided.table import offered, open_guide

__all__ = [
    "Answered",
    "Choice",
    "Event",
    "Guide",
    "Keys",
    "Offer",
    "Pattern",
    "Picture",
    "Skip",
    "Step",
    "Table",
    "Tick",
    "Trace",
    "left_out",
    "offered",
    "open_guide",
]
