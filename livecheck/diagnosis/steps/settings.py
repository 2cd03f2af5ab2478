"""What costs no screw: a setting that may explain a failure, and what a test lacks.

A radio that a switch holds off looks broken and is not. So a check that a setting can
make fail carries in shared/checks.toml what to try (``setting``), and one that could not
be judged for want of something on the stick says what (``lacks``); both are proposed
before anything is opened, once for a component (common practice, no source).
"""

from __future__ import annotations

from typing import Final

from livecheck.diagnosis.signs import beside_complaint
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.situation import Situation, losing
from livecheck.records import (
    Complaint,
    FirmwareFlashed,
    Knowledge,
    NextStep,
    Outcome,
    PredictedOutcome,
    Reading,
    Run,
    SettingPutRight,
    Side,
)
from livecheck.records.tables import LOCKED

LACKING: Final = frozenset({Complaint.PART_MISSING, Complaint.INTAKE})
"""Complaints under which a part that could not be tested is worth another start."""


def steps(here: Situation) -> tuple[NextStep, ...]:
    """One step for each component that a setting, or something more on the stick, may help."""
    knowledge = here.bench.knowledge
    home = [one.run for one in here.graph.home]
    # What the installed system kept is no older for a look that saw nothing.
    silent = not any(one.failed and one.run == here.looked and not one.finding
                     for one in here.found)  # fmt: skip
    runs = [run for run in home if run.number >= here.looked or (run.inside and silent)]
    beside = beside_complaint(knowledge, here.graph.complaint)
    signs = [(run, r) for run in runs for r in run.readings if r.check not in beside]
    # A drive that loses data is started with other settings for nothing.
    lost = losing(here)
    signs = [(run, r) for run, r in signs if here.number_at(r.at) not in lost]
    # What a drive itself gives as its reason comes before what also looks like that.
    signs.sort(key=lambda sign: sign[1].check != LOCKED)
    wanted = [_setting(here, run, r) for run, r in signs if held(r, knowledge)]
    if here.graph.complaint in LACKING:
        lately = (r for run in home if run.number >= here.looked for r in run.readings)
        wanted += [_lacks(here, r) for r in lately if _lacking(r, knowledge)]
    first: dict[tuple[str, str], NextStep] = {}
    for step in wanted:
        if _open(here, step):
            first.setdefault((step.action, step.target), step)
    return tuple(first.values())


def held(reading: Reading, knowledge: Knowledge) -> bool:
    """True for a failure that a setting may be behind."""
    check = knowledge.checks.get(reading.check)
    return check is not None and bool(check.setting) and reading.outcome is Outcome.FAILED


def _lacking(reading: Reading, knowledge: Knowledge) -> bool:
    """True for what was not judged for want of what its value names; else it has none."""
    check = knowledge.checks.get(reading.check)
    unjudged = reading.outcome is Outcome.NOT_JUDGED and reading.value is not None
    return check is not None and bool(check.lacks) and unjudged


def _setting(here: Situation, run: Run, reading: Reading) -> NextStep:
    say = here.bench.knowledge.say
    why = here.bench.knowledge.checks[reading.check].setting
    return _step(
        reading,
        Action.SETTING,
        here.bench.knowledge.bench.actions.setting.minutes + here.bench.trial(),
        say("setting.kept", why=why) if run.inside else why,
        _two(
            _harmless(here, run, reading),
            (say("result.passes"), say("setting.good")),
            (say("result.still-fails"), say("setting.bad")),
        ),
    )


def _lacks(here: Situation, reading: Reading) -> NextStep:
    graph, knowledge = here.graph, here.bench.knowledge
    say, lacks = knowledge.say, knowledge.checks[reading.check].lacks
    component = here.component_at(reading.at)
    guilty = here.belief.marginals[graph.index[component.id]] if component else 0.0
    return _step(
        reading,
        Action.ENABLE,
        here.bench.trial(),
        say("enable.why", why=reading.why_not, lacks=lacks),
        _two(
            1.0 - guilty,
            (say("result.works-then"), say("enable.good")),
            (say("result.no-start"), say("enable.bad")),
        ),
    )


def _two(
    chance: float, good: tuple[str, str], bad: tuple[str, str]
) -> tuple[PredictedOutcome, PredictedOutcome]:
    """Both outcomes, each a result and what it means; ``chance``: of the good one."""
    result, means = good
    other, worse = bad
    return (
        PredictedOutcome(result=result, probability=chance, means=means),
        PredictedOutcome(result=other, probability=1.0 - chance, means=worse),
    )


def _step(
    reading: Reading,
    action: Action,
    minutes: float,
    why: str,
    outcomes: tuple[PredictedOutcome, ...],
) -> NextStep:
    return NextStep(
        action=action,
        target=reading.at,
        minutes=round(minutes, 1),
        why=why,
        outcomes=outcomes,
        checks=(reading.check,),
    )


def _open(here: Situation, step: NextStep) -> bool:
    """Whether this bench can do it and has not done it."""
    component = here.component_at(step.target)
    kind = component.kind if component is not None else None
    done = step.action == Action.SETTING and _told(here, step.target)
    return not done and here.bench.allows(step.action, kind, step.target)


def tried(here: Situation) -> bool:
    """Whether a setting was put right, and what it was to cure still fails."""
    answers = (answer for one in here.graph.home for answer in one.run.answers)
    return here.fails_now and any(isinstance(one, SettingPutRight) for one in answers)


def _told(here: Situation, at: str) -> bool:
    """Whether its settings were put right, and the firmware was not written anew since, which
    sets all of them to what its maker chose (common practice, no source)."""
    answers = [answer for one in here.graph.configurations for answer in one.run.answers]
    flashed = [turn for turn, one in enumerate(answers) if isinstance(one, FirmwareFlashed)]
    return SettingPutRight(component=at) in answers[max(flashed, default=0) :]


def _harmless(here: Situation, run: Run, reading: Reading) -> float:
    """Probability that nothing this check looks at is at fault but software."""
    graph = here.graph
    blamed = {
        number
        for one in here.found
        if one.run == (run.number if run.inside else here.looked) and one.reading == reading
        for number, _ in one.members
        if graph.components[number].side is not Side.SOFTWARE
    }
    whole = sum(mass for _, mass in here.belief.sets)
    clear = sum(mass for members, mass in here.belief.sets if blamed.isdisjoint(members))
    return clear / whole if whole else 0.0
