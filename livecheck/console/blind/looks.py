"""What the bench worksheet asks for, answered beside a machine that runs."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck import knowledge
from livecheck.diagnosis import worksheet
from livecheck.diagnosis.worksheet_table import Measurement
from livecheck.records import Complaint, Run
from livecheck.worded_forms import worded_sheet


def by_looking(step: Measurement, complaint: Complaint) -> bool:
    """Whether three keys can answer it, on a machine that is on: what else is on the worksheet
    is measured with a meter, or takes pressing the power key."""
    return step.asks == "choice" and step.complaints == (complaint,)


def asked(complaint: Complaint) -> tuple[Measurement, ...]:
    """The looks for a complaint."""
    listed = worksheet.steps(complaint, worded_sheet(knowledge.worksheet()))
    return tuple(one for one in listed if by_looking(one, complaint))


def due(complaint: Complaint, runs: Sequence[Run]) -> bool:
    """Whether there is something to look at, and the last run is not of looks.

    What was done since is known to have helped only once somebody has looked.
    """
    seen = {reading.check for run in runs[-1:] for reading in run.readings}
    checks = {rule.check for one in asked(complaint) for rule in one.judge}
    return bool(checks) and checks.isdisjoint(seen)
