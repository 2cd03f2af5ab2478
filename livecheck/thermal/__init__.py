"""How a machine sheds heat: a thermal model fitted to what its sensors say. Pure, no I/O."""

from livecheck.thermal.compare import Comparison, compare
from livecheck.thermal.fit import fit
from livecheck.thermal.model import Fit, Point, seconds_until, settled, steady
from livecheck.thermal.verdict import CoolingVerdict, Limits, judge

__all__ = [
    "Comparison",
    "CoolingVerdict",
    "Fit",
    "Limits",
    "Point",
    "compare",
    "fit",
    "judge",
    "seconds_until",
    "settled",
    "steady",
]
