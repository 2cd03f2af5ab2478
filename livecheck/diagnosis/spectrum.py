"""How much a component keeps company with failures: spectrum-based suspicion.

Each run of a check used some components and passed or failed. Two published
scores, both 0 … 1, both from counts alone: *Tarantula* (Jones & Harrold, ASE
2005) and *Ochiai* (Abreu, Zoeteweij & van Gemund, PRDC 2006). A component that no
check used scores 0. They order equal explanations in the view without priors.
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
    used_failing, used_passing, failed, _ = _count(spectrum)
    scores = {}
    for component in used_failing.keys() | used_passing.keys():
        with_failure = used_failing[component]
        used = with_failure + used_passing[component]
        scores[component] = with_failure / sqrt(failed * used) if failed else 0.0
    return scores


def tarantula(spectrum: Spectrum[C]) -> dict[C, float]:
    """Share of failures using it over that plus the share of passes using it."""
    used_failing, used_passing, failed, passed = _count(spectrum)
    scores = {}
    for component in used_failing.keys() | used_passing.keys():
        failing = used_failing[component] / failed if failed else 0.0
        passing = used_passing[component] / passed if passed else 0.0
        scores[component] = failing / (failing + passing) if failing else 0.0
    return scores


def _count(spectrum: Spectrum[C]) -> tuple[Counter[C], Counter[C], int, int]:
    failing: Counter[C] = Counter()
    passing: Counter[C] = Counter()
    failed = passed = 0
    for used, fails in spectrum:
        (failing if fails else passing).update(set(used))
        failed += fails
        passed += not fails
    return failing, passing, failed, passed
