"""What the bench worksheet asks for, answered beside a machine that runs: pure."""

from __future__ import annotations

from livecheck.diagnosis.worksheet_table import Measurement
from livecheck.records import Complaint


def by_looking(step: Measurement, complaint: Complaint) -> bool:
    """Whether three keys can answer it, on a machine that is on: what else is on the worksheet
    is measured with a meter, or takes pressing the power key."""
    return step.asks == "choice" and step.complaints == (complaint,)
