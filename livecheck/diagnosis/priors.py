"""How likely each fault is before anything was read: shares of cases and weights.

A case has no fault, the installed system's fault, or one, two or three faults;
``shared/components.toml`` gives those shares and, within one fault, the weight of
every kind by complaint. Sets of the same size are as likely as the product of
their weights.
"""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.records import Complaint, Kind, Knowledge, Record, Run


class Weights(Record, frozen=True, kw_only=True):
    """How far readings repeat each other; all 0: every reading is independent."""

    hidden: float = 0.0
    fitful: float = 0.0
    kin: float = 0.0
    settled: float = 0.0
    alarms: float = 0.0
    doubt: float = 0.0


def complaint_of(runs: Sequence[Run]) -> Complaint:
    """The complaint of a case: the first run's that has one."""
    ordered = sorted(runs, key=lambda run: run.number)
    named = (run.complaint for run in ordered if run.complaint is not Complaint.INTAKE)
    return next(named, Complaint.INTAKE)


def weight(kind: Kind, complaint: Complaint) -> float:
    """Prior weight of one component of this kind under a complaint."""
    return kind.weight * kind.complaints.get(complaint.value, 1.0)


def share(knowledge: Knowledge, name: str, complaint: Complaint, default: float) -> float:
    """A share of cases (0 … 1) of the table, kept away from 0 and 1."""
    row = knowledge.kinds.get(name)
    value = weight(row, complaint) if row is not None else default
    return min(max(value, 1e-6), 0.98)


def trust(knowledge: Knowledge) -> Weights:
    """How far readings repeat each other, by the table."""
    rows = {
        "hidden": "hidden-faults",
        "fitful": "fitful-faults",
        "kin": "kin-checks",
        "settled": "settled-checks",
        "alarms": "settled-alarms",
        "doubt": "doubt",
    }
    kinds = knowledge.kinds
    return Weights(**{own: kinds[row].weight for own, row in rows.items() if row in kinds})


def by_size(knowledge: Knowledge, complaint: Complaint, max_faults: int) -> tuple[float, ...]:
    """Prior probability of 0, 1, 2 … ``max_faults`` independent faults."""
    none = share(knowledge, "no-fault", complaint, 0.1)
    shares = [1.0]
    for count, name, default in ((2, "two faults", 0.1), (3, "three faults", 0.01)):
        if count <= max_faults:
            shares.append(share(knowledge, name, complaint, default))
            shares[0] -= shares[-1]
    return (none, *(value * (1.0 - none) for value in shares))


def with_software(
    weights: Sequence[float], software: int | None, knowledge: Knowledge, complaint: Complaint
) -> list[float]:
    """The weights with the installed system's set so that its share of cases is the table's."""
    whole = list(weights)
    if software is None:
        return whole
    none = share(knowledge, "no-fault", complaint, 0.1)
    part = min(share(knowledge, "software", complaint, 0.1) / (1.0 - none), 0.95)
    rest = sum(w for number, w in enumerate(whole) if number != software)
    whole[software] = part / (1.0 - part) * rest if rest > 0 else 1.0
    return whole
