"""What was weighed for the verdict: the readings that say something, and the rest."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from livecheck.chances import SAYS_LITTLE
from livecheck.names import Named, Names
from livecheck.records import Evidence, Knowledge, Outcome, Run, Side
from livecheck.report.faults import ReadingInRuns, findings, sides
from livecheck.wording import numbers, question


class EvidenceRow(msgspec.Struct, frozen=True, kw_only=True):
    """A reading that bears on the verdict, or the same one of several runs."""

    runs: str
    question: str
    check: str
    at: Named
    outcome: Outcome
    says: str
    weight: float
    """Of one of these runs: where they differ, the one that says most."""


class Aside(msgspec.Struct, frozen=True, kw_only=True):
    """A reading that says little, or the same one of several runs."""

    runs: str
    question: str
    at: Named
    outcome: Outcome


def telling(
    evidence: Sequence[Evidence], names: Names, knowledge: Knowledge
) -> tuple[EvidenceRow, ...]:
    """The readings that say something, by ``SAYS_LITTLE``; the same one of several runs once."""
    merged: dict[tuple[str, str, Outcome, str], list[Evidence]] = {}
    for one in evidence:
        if abs(one.weight) >= SAYS_LITTLE:
            merged.setdefault((one.check, one.at, one.outcome, one.says), []).append(one)
    return tuple(
        EvidenceRow(
            runs=numbers(one.run for one in found),
            question=question(check, knowledge),
            check=check,
            at=names.of(at),
            outcome=outcome,
            says=says,
            weight=max((one.weight for one in found), key=abs),
        )
        for (check, at, outcome, says), found in merged.items()
    )


def asides(evidence: Sequence[Evidence], names: Names, knowledge: Knowledge) -> tuple[Aside, ...]:
    """The others, the same one of several runs told once."""
    merged: dict[tuple[str, str, Outcome], list[int]] = {}
    for e in evidence:
        if abs(e.weight) < SAYS_LITTLE:
            merged.setdefault((e.check, e.at, e.outcome), []).append(e.run)
    return tuple(
        Aside(
            runs=numbers(found),
            question=question(check, knowledge),
            at=names.of(at),
            outcome=outcome,
        )
        for (check, at, outcome), found in merged.items()
    )


def software_findings(
    runs: Sequence[Run], names: Names, knowledge: Knowledge
) -> tuple[ReadingInRuns, ...]:
    """Failed readings that only the installed system can cause."""
    return findings(
        (
            (run, reading)
            for run in runs
            for reading in run.readings
            if reading.outcome is Outcome.FAILED and sides(run, reading, names) == {Side.SOFTWARE}
        ),
        names,
        knowledge,
    )
