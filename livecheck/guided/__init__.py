"""Guided checks: what the technician does with hand, eye and ear.

Each is a row of ``shared/guided.toml`` and a small state machine without I/O
(``livecheck.guided.steps``). ``offered`` says which ones a machine has the hardware
for; ``guided.watcher`` and ``guided.drive`` are the shell that watches devices and acts;
a check's end is a reading like any other, or *not tested* when it was left out.
"""

from livecheck.guided.ending import left_out
from livecheck.guided.events import Answered, Event, Skip, Tick
from livecheck.guided.rows import GuidedTable, GuideOffer
from livecheck.guided.steps import Choice, Guide, GuideStep, Keys, Picture, ScreenPattern, Trace
from livecheck.guided.table import offered, open_guide

__all__ = [
    "Answered",
    "Choice",
    "Event",
    "Guide",
    "GuideOffer",
    "GuideStep",
    "GuidedTable",
    "Keys",
    "Picture",
    "ScreenPattern",
    "Skip",
    "Tick",
    "Trace",
    "left_out",
    "offered",
    "open_guide",
]
