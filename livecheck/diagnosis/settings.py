"""What costs no screw: a setting that may explain a failure, and what a test lacks.

A radio that a switch holds off looks broken and is not. So a check that a setting can
make fail carries in shared/checks.toml what to try (``setting``), and one that could not
be judged for want of something on the stick says what (``lacks``); both are proposed
before anything is opened, once for a component (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from livecheck.diagnosis import actions
from livecheck.diagnosis.fitting import SET
from livecheck.diagnosis.situation import Situation
from livecheck.records import (
    Complaint,
    NextStep,
    Outcome,
    PredictedOutcome,
    Reading,
    Side,
)

MINUTES: Final = 2.0
"""Assumed: to find a switch, or an entry of the firmware's setup."""
LACKING: Final = frozenset({Complaint.PART_MISSING, Complaint.INTAKE})
"""Complaints under which a part that could not be tested is worth another start."""


def steps(here: Situation) -> tuple[NextStep, ...]:
    """One step for each component that a setting, or something more on the stick, may help."""
    wanted = [one for one in (_setting(here, r) for r in _last(here)) if one is not None]
    if here.bench.graph.complaint in LACKING:
        wanted += [one for one in (_lacks(here, r) for r in _last(here)) if one is not None]
    first = {(step.action, step.target): step for step in reversed(wanted)}
    return tuple(first[key] for key in dict.fromkeys((s.action, s.target) for s in wanted))


def _last(here: Situation) -> Iterator[Reading]:
    yield from here.fitted.run.readings


def _setting(here: Situation, reading: Reading) -> NextStep | None:
    check = here.bench.knowledge.checks.get(reading.check)
    if check is None or not check.setting or reading.outcome is not Outcome.FAILED:
        return None
    if _told(here, reading.at) or not _allowed(here, actions.SETTING, reading.at):
        return None
    chance = _harmless(here, reading)
    return NextStep(
        action=actions.SETTING,
        target=reading.at,
        minutes=round(MINUTES + here.bench.trial(), 1),
        why=check.setting,
        outcomes=(
            PredictedOutcome(
                result="passes", probability=chance, means="it was the setting, and no part"
            ),
            PredictedOutcome(
                result="still fails",
                probability=1.0 - chance,
                means="no setting holds it: hardware is left",
            ),
        ),
        checks=(reading.check,),
    )


def _lacks(here: Situation, reading: Reading) -> NextStep | None:
    check = here.bench.knowledge.checks.get(reading.check)
    if check is None or not check.lacks or reading.outcome is not Outcome.NOT_JUDGED:
        return None
    # The reading's value names what is lacking; without one it was not judged for another reason.
    if reading.value is None or not _allowed(here, actions.ENABLE, reading.at):
        return None
    graph = here.bench.graph
    component = here.component(here.fitted.keys.get(reading.at, reading.at))
    chance = 1.0 - (here.belief.marginals[graph.index[component.id]] if component else 0.0)
    return NextStep(
        action=actions.ENABLE,
        target=reading.at,
        minutes=round(here.bench.trial(), 1),
        why=f"Not tested: {reading.why_not}. {check.lacks}",
        outcomes=(
            PredictedOutcome(
                result="works then", probability=chance, means="the part is sound so far"
            ),
            PredictedOutcome(
                result="still does not start",
                probability=1.0 - chance,
                means="what the test says then counts against it",
            ),
        ),
        checks=(reading.check,),
    )


def _told(here: Situation, at: str) -> bool:
    """Whether the technician has said of this component that its settings were put right."""
    runs = (fitted.run for fitted in here.bench.graph.fittings)
    return any(a.about == at and a.says.strip().lower() == SET for run in runs for a in run.answers)


def _allowed(here: Situation, action: str, at: str) -> bool:
    component = here.component(here.fitted.keys.get(at, at))
    return here.bench.allows(action, component.kind if component is not None else None, at)


def _harmless(here: Situation, reading: Reading) -> float:
    """Probability that nothing this check looks at is at fault but software."""
    graph = here.bench.graph
    blamed = {
        number
        for one in here.found
        if one.run == here.fitted.run.number and one.reading == reading
        for number, _ in one.members
        if graph.components[number].side is not Side.SOFTWARE
    }
    whole = sum(mass for _, mass in here.belief.sets)
    clear = sum(mass for members, mass in here.belief.sets if blamed.isdisjoint(members))
    return clear / whole if whole else 0.0
