"""The steps this bench could take now, each with the configuration it leads to.

Which steps there are follows from what is fitted, what failed, and which
components are still open; what cannot be done here is left out.
"""

from __future__ import annotations

from livecheck.diagnosis.steps import deeper, one_part, several_parts, treatments, wording
from livecheck.diagnosis.steps.prediction import results
from livecheck.diagnosis.steps.situation import Move, Situation, whole
from livecheck.records import NextStep


def possible(here: Situation) -> tuple[Move, ...]:
    """Every step that this bench can take and that could tell something."""
    made = [
        *one_part.moves(here),
        *several_parts.put_back(here),
        *several_parts.many(here),
        *treatments.moves(here),
        *deeper.moves(here),
    ]
    return tuple(move for move in made if move.tests)


def as_step(here: Situation, move: Move) -> NextStep:
    """A move, with what it would show."""
    return wording.step(here, move, results(move.tests, whole(here.belief)))
