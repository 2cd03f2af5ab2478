"""Cautions: one order for report, console and command line, the data first. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from livecheck import intake
from livecheck.records import Case, Caution, Knowledge, NextStep, Outcome, Run, ToldLine
from livecheck.wording import text

DATA: Final = "data"
"""What is lost cannot be bought again, so this one is read first."""
MEDIUM: Final = "medium"
"""Symptom group of the checks that tell whether a drive gives back what was written."""
RISK: Final = "risk"


def cautions(step: NextStep, tables: Knowledge) -> tuple[Caution, ...]:
    """What to mind in a step."""
    return in_order(step.cautions, tables)


def in_order(names: Iterable[str], tables: Knowledge) -> tuple[Caution, ...]:
    """Cautions by their names, the data first."""
    return tuple(_known(name, tables) for name in sorted(names, key=lambda name: name != DATA))


def told(lines: Iterable[ToldLine], tables: Knowledge) -> tuple[Caution, ...]:
    """What to mind because of what was told and seen when it came in."""
    return tuple(_known(name, tables) for name in intake.cautions(lines, tables.intake))


def standing(
    case: Case, runs: Sequence[Run], tables: Knowledge, step: NextStep | None
) -> tuple[Caution, ...]:
    """What to mind whatever is done next, beside the cautions of the step: the data first."""
    if case.closed:
        return ()
    own = step.cautions if step is not None else ()
    names = [DATA] if rescue(case, runs, tables) is not None else []
    found = (*(_known(name, tables) for name in names), *told(case.told, tables))
    return tuple(one for one in found if one.name not in own)


def rescue(case: Case, runs: Sequence[Run], tables: Knowledge) -> str | None:
    """How to copy a drive that fails, while its data are wanted."""
    risk = data_in(runs, tables) == RISK and intake.data_wanted(case.told)
    return text("rescue.offer", case=case.id) if risk and not case.closed else None


def data_in(runs: Sequence[Run], knowledge: Knowledge) -> str:
    """``risk``, ``fine`` or ``untested``: by what the last run that read a drive says of it."""
    for run in sorted((r for r in runs if not r.in_known_good_machine), key=lambda r: -r.number):
        outcomes = {
            reading.outcome
            for reading in run.readings
            if (check := knowledge.checks.get(reading.check)) is not None
            and check.symptom_group == MEDIUM
        }
        if Outcome.FAILED in outcomes:
            return RISK
        if Outcome.PASSED in outcomes:
            return "fine"
    return "untested"


def _known(name: str, tables: Knowledge) -> Caution:
    # A name without a text is still a warning, so it is shown rather than dropped.
    unknown = Caution(name=name, text=text("cautions.unknown", name=name), source="")
    return tables.cautions.get(name) or unknown
