"""What a check says of the fault behind a complaint: less, where it sees other troubles.

A finding and the cause of the complaint are two questions. The engine looks for the cause, and
a bad antenna does not make a machine switch itself off: a fault that does shows seldom in the
antenna's check, so that a failure there says little of it, and a pass too.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from livecheck.records import Complaint, Knowledge
from livecheck.records.tables import HISTORY, KERNEL


def beside_complaint(knowledge: Knowledge, complaint: Complaint) -> frozenset[str]:
    """The checks that see nothing which this complaint could be of."""
    if complaint is Complaint.INTAKE:
        return frozenset()
    signs = knowledge.model.signs
    return frozenset(name for name in knowledge.checks if not _is_sign(name, complaint, signs))


def for_complaint(knowledge: Knowledge, complaint: Complaint) -> Knowledge:
    """The tables with every check's chances as they are behind this complaint."""
    beside = beside_complaint(knowledge, complaint)
    checks = {}
    for name, check in knowledge.checks.items():
        factor = knowledge.model.beside_complaint.value if name in beside else 1.0
        blames = [(row, factor * row.complaints.get(complaint, row.detect)) for row in check.blames]
        if all(row.detect == detect for row, detect in blames):
            checks[name] = check
            continue
        rows = tuple(msgspec.structs.replace(row, detect=detect) for row, detect in blames)
        checks[name] = msgspec.structs.replace(check, blames=rows)
    return msgspec.structs.replace(knowledge, checks=checks)


def _is_sign(check: str, complaint: Complaint, signs: Mapping[str, Sequence[Complaint]]) -> bool:
    """By the longest start that fits; what none fits is a sign of every complaint."""
    name = check.replace(HISTORY, KERNEL, 1)
    fits = [start for start in signs if name.startswith(start)]
    return not fits or complaint in signs[max(fits, key=len)]
