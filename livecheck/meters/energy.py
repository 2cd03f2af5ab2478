"""Power from a counter of energy that begins again at zero.

The kernel's powercap class counts microjoules up to ``max_energy_range_uj`` and then
from 0 (Documentation/power/powercap/powercap.rst). The counter is only ever read.
"""

from __future__ import annotations


def joules(before: float, after: float, wrap: float) -> float:
    """Energy between two looks; ``wrap``: what the counter counts up to, in joules.

    Right as long as the counter began again once at most, which at 15 W takes more than
    an hour (2^32 steps of 2^-14 to 2^-16 J).
    """
    return (after - before) % wrap


def watts(before: float, after: float, wrap: float, seconds: float) -> float | None:
    """Mean power between two looks; None where no time has passed."""
    return joules(before, after, wrap) / seconds if seconds > 0 else None
