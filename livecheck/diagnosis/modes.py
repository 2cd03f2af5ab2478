"""Ways of failing that exclude each other: a drive that is dead has no unreadable sectors.

A kind of part may fail in several modes, each named by the kin of checks that see it
(``Kind.modes`` of shared/components.toml: kin -> share of its faults). A fault has one
mode; which one is hidden and summed over. The check table's detect stays what it was,
the chance over all faults of the kind: it is higher in the mode of the check's kin, and
``ACROSS`` times that in the others. Checks of no mode's kin see every mode alike.

Fault modes of one component as alternatives: de Kleer & Williams, "Diagnosis with
Behavioral Modes", IJCAI 1989.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from livecheck.records import Record

ACROSS: Final = 0.15
"""Assumed: how much less readily a check sees a fault of another mode than its own."""
MOST: Final = 0.95
"""No check sees a mode more surely than this."""
SHARED: Final = frozenset({"link"})
"""Kins of what a part and its place do together. Assumed: in one run a link shows its errors
as seldom when the part makes them as when the place or its controller does."""

Shares = Mapping[str, float]
"""Kin -> share of faults; empty: the kind has one mode only."""


class Form(Record, frozen=True, kw_only=True):
    """A component at fault in one of its modes."""

    number: int
    """Its own number: the component's for the first form, else one above all components."""
    share: float
    mode: str
    """Kin that sees it; empty: the component has no modes."""
    shares: dict[str, float]

    def detect(self, kin: str, detect: float, beside: float | None = None) -> float:
        """Chance that a check of a kin shows this form, of its chance over all forms.

        ``beside``: the surest it shows a fault of what has one form, such as the place.
        """
        own = self.shares.get(kin)
        if own is None:
            return detect
        inside = min(MOST, detect / (own + (1.0 - own) * ACROSS))
        if kin in SHARED and beside is not None:
            inside = min(inside, beside)
        return inside if kin == self.mode else inside * ACROSS


def forms(modes: Sequence[Shares], kins: frozenset[str]) -> dict[int, tuple[Form, ...]]:
    """The forms of each component that has several, as far as the kins at hand tell them apart.

    ``modes``: of each component in order. Shares are normalised.
    """
    found: dict[int, tuple[Form, ...]] = {}
    spare = len(modes)
    for number, shares in enumerate(modes):
        if len(shares) < 2 or kins.isdisjoint(shares):
            continue
        whole = sum(shares.values())
        parts = {kin: share / whole for kin, share in shares.items()}
        rows = []
        for turn, (mode, share) in enumerate(parts.items()):
            own = number if turn == 0 else spare
            spare += turn > 0
            rows.append(Form(number=own, share=share, mode=mode, shares=parts))
        found[number] = tuple(rows)
    return found
