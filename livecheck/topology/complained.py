"""What the customer complains of, as far as the machine bears it out. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from livecheck.records import Complaint, Outcome, Run

LIFE: Final = "bench.life"


def complaint_of(runs: Iterable[Run]) -> Complaint:
    """The complaint of a case: the first run's that has one.

    Who calls a machine dead may have seen no picture: one that showed life is complained of for
    what was written next.
    """
    ordered = sorted(runs, key=lambda run: run.number)
    named = [run.complaint for run in ordered if run.complaint is not Complaint.INTAKE]
    first = next(iter(named), Complaint.INTAKE)
    if first is not Complaint.NO_POWER or not lives(ordered):
        return first
    return next((one for one in named if one is not first), first)


def lives(runs: Iterable[Run]) -> bool:
    """Whether the machine showed life at the press each time it was looked for."""
    read = [r.outcome for run in runs for r in run.readings if r.check == LIFE]
    return bool(read) and all(outcome is Outcome.PASSED for outcome in read)
