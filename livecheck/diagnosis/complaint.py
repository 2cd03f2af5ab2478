"""What bears on the complaint: whose fault could explain it, and what failed that means it.

A finding, such as a worn battery, is told for what it is; only what could be what the
customer complains of is worked on, and a machine that shows no sign of it for long enough
counts as tested.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck.diagnosis.observations import COMPLAINT, Observation
from livecheck.records import Complaint, Knowledge
from livecheck.topology.graph import Graph
from livecheck.topology.ids import FIRMWARE, MAINBOARD, SOFTWARE

Sets = Sequence[tuple[tuple[int, ...], float]]
"""Fault sets and their probabilities."""
RELEVANT: Final = 0.5
"""Assumed: a kind whose prior factor under the complaint is below this does not explain it."""
POSSIBLE: Final = 0.15
"""Assumed: one whose factor is below this is not looked into for it."""
MEANT: Final = 0.1
"""Assumed: a failure that less likely than this comes from a fault is nothing to work on."""
CLEAN_RUNS: Final = 4
"""Assumed: runs without a sign, as many as a first look and a soak make, that count as tested."""
_SETS: Final = 120
_EVERYWHERE: Final = (MAINBOARD, FIRMWARE, SOFTWARE)
"""Kinds that explain anything: they make no failure a sign of the complaint."""


def bears_on(kind: str, complaint: Complaint, knowledge: Knowledge) -> bool:
    """Whether a fault in a component of this kind could be what the customer complains of."""
    return _factor(kind, complaint, knowledge) >= RELEVANT


def possible(graph: Graph, knowledge: Knowledge) -> frozenset[int]:
    """Components that are looked into for the complaint."""
    return frozenset(
        number
        for number, one in enumerate(graph.components)
        if one.kind not in _EVERYWHERE and _factor(one.kind, graph.complaint, knowledge) >= POSSIBLE
    )


def _factor(kind: str, complaint: Complaint, knowledge: Knowledge) -> float:
    row = knowledge.kinds.get(kind)
    return row.complaints.get(complaint, 1.0) if row is not None else 1.0


def signs(
    found: Sequence[Observation], belief: Sets, wanted: frozenset[int]
) -> tuple[tuple[Observation, float], ...]:
    """Failures that may be the complaint, and how likely each came from a fault.

    ``wanted``: components looked into. Findings and where the complaint was seen are none.
    """
    rows = [
        (one, explained(one, belief))
        for one in found
        if one.failed
        and not one.finding
        and not one.reading.check.startswith(COMPLAINT)
        and not wanted.isdisjoint(number for number, _ in one.members)
    ]
    return tuple((one, meant) for one, meant in rows if meant >= MEANT)


def explained(one: Observation, belief: Sets) -> float:
    """Probability that a fault made this check fail, and not a false alarm."""
    detects = dict(one.members)
    share = 0.0
    for members, mass in belief:
        missed = 1.0
        for number in members:
            missed *= 1.0 - detects.get(number, 0.0)
        if missed < 1.0:
            fails = 1.0 - (1.0 - one.false_alarm) * missed
            share += mass * (1.0 - one.false_alarm / fails)
    return share


def tested_clean(
    graph: Graph, belief: Sets, found: Sequence[Observation], knowledge: Knowledge
) -> bool:
    """Whether the machine was tested for long enough without a sign of the complaint."""
    seen = signs(found, belief[:_SETS], possible(graph, knowledge))
    return not seen and len(graph.home) >= CLEAN_RUNS
