"""Ways of failing that exclude each other: a drive that is dead has no unreadable sectors.

A kind of part may fail in several modes, each named by the symptom group of checks that see it
(``Kind.modes`` of shared/components.toml: symptom group -> share of its faults). A fault has one
mode; which one is hidden and summed over. The check table's detect stays what it was,
the chance over all faults of the kind: it is higher in the mode of the check's symptom group, and
``ACROSS`` times that in the others. Checks of no mode's symptom group see every mode alike.

Fault modes of one component as alternatives: de Kleer & Williams, "Diagnosis with
Behavioral Modes", IJCAI 1989.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from livecheck.records import Record

ACROSS: Final = 0.15
"""Assumed: how much less readily a check sees a fault of another mode than its own."""
MAX_DETECT: Final = 0.95
"""No check sees a mode more surely than this."""
SHARED: Final = frozenset({"link"})
"""Symptom groups of what a part and its place do together. Assumed: in one run a link shows its
errors as seldom when the part makes them as when the place or its controller does."""

Shares = Mapping[str, float]
"""Symptom group -> share of faults; empty: the kind has one mode only."""


class FaultMode(Record, frozen=True, kw_only=True):
    """A component at fault in one of its modes."""

    number: int
    """Its own number: the component's for the first mode, else one above all components."""
    share: float
    symptom_group: str
    """Symptom group that sees it; empty: the component has no modes."""
    shares: dict[str, float]

    def detect(self, symptom_group: str, detect: float, beside: float | None = None) -> float:
        """Chance that a check of a symptom group shows this mode, of its chance over all.

        ``beside``: the surest it shows a fault of what has one mode, such as the place.
        """
        own = self.shares.get(symptom_group)
        if own is None:
            return detect
        inside = min(MAX_DETECT, detect / (own + (1.0 - own) * ACROSS))
        if symptom_group in SHARED and beside is not None:
            inside = min(inside, beside)
        return inside if symptom_group == self.symptom_group else inside * ACROSS


def fault_modes(
    modes: Sequence[Shares], symptom_groups: frozenset[str]
) -> dict[int, tuple[FaultMode, ...]]:
    """The modes of each component that has several, as far as the groups at hand part them.

    ``modes``: of each component in order. Shares are normalised.
    """
    found: dict[int, tuple[FaultMode, ...]] = {}
    spare = len(modes)
    for number, shares in enumerate(modes):
        if len(shares) < 2 or symptom_groups.isdisjoint(shares):
            continue
        whole = sum(shares.values())
        parts = {group: share / whole for group, share in shares.items()}
        rows = []
        for turn, (symptom_group, share) in enumerate(parts.items()):
            own = number if turn == 0 else spare
            spare += turn > 0
            rows.append(
                FaultMode(number=own, share=share, symptom_group=symptom_group, shares=parts)
            )
        found[number] = tuple(rows)
    return found
