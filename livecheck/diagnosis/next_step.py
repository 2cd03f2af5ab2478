"""The next step: what to do so that a proven repair is reached soonest and cheapest."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.diagnosis.bench import Bench
from livecheck.diagnosis.blame import Exercise
from livecheck.diagnosis.posterior import Posterior
from livecheck.diagnosis.verdict import Verdict
from livecheck.records import NextStep


def rank(
    bench: Bench, belief: Posterior, judged: Verdict, found: Sequence[Exercise]
) -> tuple[NextStep, ...]:
    """Steps, best first."""
    return ()
