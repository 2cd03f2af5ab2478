"""How often a component was in use when something failed: spectrum-based suspicion.

Each run of a check used some components and passed or failed. The score *Ochiai*
(Abreu, Zoeteweij & van Gemund, PRDC 2006), 0 … 1, is made of these counts alone. A
component that no check used scores 0. It orders equal explanations in the view
without priors.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Hashable, Iterable
from math import sqrt
from typing import TypeVar

C = TypeVar("C", bound=Hashable)

Spectrum = Iterable[tuple[Collection[C], bool]]
"""(components used, failed) of each check."""


def ochiai(spectrum: Spectrum[C]) -> dict[C, float]:
    """Failed-with / sqrt(failed · used-by) of each component."""
    failing: Counter[C] = Counter()
    used_by: Counter[C] = Counter()
    failed = 0
    for used, fails in spectrum:
        used_by.update(set(used))
        if fails:
            failing.update(set(used))
            failed += 1
    return {
        component: failing[component] / sqrt(failed * count) if failed else 0.0
        for component, count in used_by.items()
    }
