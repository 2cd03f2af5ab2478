"""Ways of failing that exclude each other: a drive that is dead has no unreadable sectors.

A kind of part may fail in several modes, each named by the symptom groups of checks that see it
(``Kind.modes`` of shared/components.toml: symptom groups -> share of its faults). A fault has one
mode; which one is hidden and summed over. The check table's detect stays what it was,
the chance over all faults of the kind: it is higher in the mode of the check's symptom group, and
``ACROSS`` times that in the others. Checks of no mode's symptom group see every mode alike.

Fault modes of one component as alternatives: de Kleer & Williams, "Diagnosis with
Behavioral Modes", IJCAI 1989.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

import msgspec

from livecheck.records import Record

ACROSS: Final = 0.15
"""Assumed: how much less readily a check sees a fault of another mode than its own."""
MAX_DETECT: Final = 0.95
"""No check sees a mode more surely than this."""
SHARED: Final = frozenset({"link"})
"""Symptom groups of what a part and its place do together. Assumed: in one run a link shows its
errors as seldom when the part makes them as when the place or its controller does."""

WHOLE: Final = (0, 10**9)
"""First and last run of all runs."""
Window = tuple[float, int, int]
"""(Share of the faults, first, last run in which they were there)."""
Shares = Mapping[str, float]
"""Symptom groups, spaces between -> share of faults; empty: the kind has one mode only."""


class FaultMode(Record, frozen=True, kw_only=True):
    """A component at fault in one of its modes."""

    number: int
    """Its own number: the component's for the first mode, else one above all components."""
    share: float
    symptom_groups: tuple[str, ...]
    """Symptom groups that see it; empty: the component has no modes."""
    shares: dict[str, float]
    """Symptom group -> share of the component's faults that it sees."""
    window: tuple[int, int] = WHOLE
    """First and last run in which it was at fault."""

    @property
    def gone(self) -> bool:
        """True: it was at fault once, and is no more."""
        return self.window[1] < WHOLE[1]

    def covers(self, run: int) -> bool:
        """Whether it was at fault in a run."""
        return self.window[0] <= run <= self.window[1]

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
        return inside if symptom_group in self.symptom_groups else inside * ACROSS


class Ways(NamedTuple):
    """How faults may differ, of each component in order; shares are normalised."""

    modes: Sequence[Shares] = ()
    windows: Sequence[Sequence[Window]] = ()
    """Empty for a component: its fault was there in all runs."""
    apart: Mapping[int, float] = {}
    """Odds of what may be bad on its own account, such as a spare of the shop's: beside the
    fault the machine came with, whatever that is."""
    steady: frozenset[int] = frozenset()
    """Those whose faults hardly ever come and go."""


ONE_WAY: Final = Ways()
"""Every fault has one way of failing and was there in all runs."""


def fault_modes(ways: Ways, symptom_groups: frozenset[str]) -> dict[int, tuple[FaultMode, ...]]:
    """The modes of each component that has several, as far as the groups at hand part them."""
    modes, windows = ways.modes, ways.windows
    found: dict[int, tuple[FaultMode, ...]] = {}
    spare = max(len(modes), len(windows))
    for number in range(spare):
        shares = modes[number] if number < len(modes) else {}
        spans = windows[number] if number < len(windows) else ()
        if len(shares) < 2 or symptom_groups.isdisjoint(_by_group(shares)):
            shares = {}
        if not shares and len(spans) < 2:
            continue
        rows: list[FaultMode] = []
        for mode in _each(shares, spans or ((1.0, *WHOLE),)):
            rows.append(msgspec.structs.replace(mode, number=spare if rows else number))
            spare += len(rows) > 1
        found[number] = tuple(rows)
    return found


def _each(shares: Shares, spans: Sequence[Window]) -> Iterator[FaultMode]:
    """One for each way of failing and window, not yet numbered."""
    whole, total = sum(shares.values()) or 1.0, sum(share for share, _, _ in spans)
    parts = {groups: share / whole for groups, share in shares.items()}
    seen = _by_group(parts)
    for symptom_groups, share in (parts or {"": 1.0}).items():
        for part, first, last in spans:
            yield FaultMode(
                number=0,
                share=share * part / total,
                symptom_groups=tuple(symptom_groups.split()),
                shares=seen,
                window=(first, last),
            )


def _by_group(shares: Shares) -> dict[str, float]:
    """Symptom group -> share of the faults it sees."""
    found: dict[str, float] = {}
    for groups, share in shares.items():
        for group in groups.split():
            found[group] = found.get(group, 0.0) + share
    return found
