"""What failed and is no fault of a component: a hidden state, or what fits no explanation."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from livecheck.diagnosis.complaint import CLEAN_RUNS, SETS, Sets, explained
from livecheck.diagnosis.observations import Observation
from livecheck.topology.graph import Graph

EVEN: Final = 0.5
"""Above it a fault explains a failure better than a hidden state."""
STRANGE: Final = 6
"""Assumed: so many different failures, none twice, fit no one explanation."""


def hidden_states(found: Sequence[Observation], belief: Sets) -> tuple[str, ...]:
    """Names of hidden states that explain what failed better than a fault does.

    Each made several checks fail, or one in several runs.
    """
    shown: dict[str, list[tuple[tuple[str, int], float]]] = {}
    for one in found:
        if one.failed and one.state is not None:
            seen = ((one.reading.check, one.run), explained(one, belief[:SETS]))
            shown.setdefault(one.state.name, []).append(seen)
    return tuple(
        name
        for name, seen in shown.items()
        if len({fact for fact, _ in seen}) > 1 and sum(m for _, m in seen) / len(seen) < EVEN
    )


def fits_nothing(found: Sequence[Observation], graph: Graph) -> bool:
    """Whether failures lie everywhere and none of them ever came back.

    What is at fault shows again in what has shown it; so many that never do, in so many runs,
    no single component makes. It takes up what no table knows: supply, liquid, the stick itself.
    """
    home = {one.run.number for one in graph.home}
    facts = Counter(
        (one.reading.check, one.read_at)
        for one in found
        if one.failed and not one.finding and one.run in home and one.state is None
    )
    runs = {one.run for one in found if one.failed and not one.finding and one.run in home}
    return len(facts) >= STRANGE and len(runs) > CLEAN_RUNS and max(facts.values()) == 1
