"""What comes before trials and orders: questions, a look inside, what costs nothing.

Common practice of the trade, no source: a machine that was spilled on or fell is opened first,
what hangs is left without power before any screw, dirt and leads come before a board.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck.diagnosis import complaint
from livecheck.diagnosis.handover_checks import measured_by_hand
from livecheck.diagnosis.steps import questions, settings, wording
from livecheck.diagnosis.steps.actions import SLEEP, STARTS, Action
from livecheck.diagnosis.steps.before_order import (
    a_board,
    a_stalling_drive,
    inspect,
    looked_inside,
    told_inside,
)
from livecheck.diagnosis.steps.deeper import BY_METER
from livecheck.diagnosis.steps.moves import as_step, possible
from livecheck.diagnosis.steps.situation import Move, Situation, losing
from livecheck.diagnosis.steps.treatments import cleaning, is_silent
from livecheck.diagnosis.verdict import Verdict
from livecheck.records import Complaint, NextStep, Outcome
from livecheck.topology.ids import MAINBOARD, THE_HUNG

_ELSEWHERE: Final = (Action.SWAP, Action.KNOWN_GOOD_MACHINE)
"""Another part here, or this one in another machine."""
_BEFORE_ANY_SCREW: Final = 0.12
"""Assumed: so likely, a controller that hangs is left without power before anything else."""
_SURELY_THE_SYSTEM: Final = 0.8
"""Assumed: so likely, the installed system is put right without the full tests."""
_HEARD: Final = "intake.fan-noise"
_HEAT: Final = "heat"
_FED: Final = "power.adapter"
"""Passed: power comes in."""
_HOLDS: Final = "power.holds-load"


def anything(here: Situation) -> Iterator[NextStep]:
    """What has to be told or looked at before anything can be concluded."""
    yield from questions.asked(here)
    if here.bench.hurt and not looked_inside(here) and here.bench.allows(Action.INSPECT):
        yield inspect(here)
    yield from _unsafe(here)
    yield from _once_more(here)
    yield from _vouched_for(here)
    if here.bench.sleeps:
        yield from _by_itself(here, "sleep.why", SLEEP)
    if here.bench.starts:
        yield from _by_itself(here, "starts.why", *STARTS)
    yield from _unplugged(here)


def _by_itself(here: Situation, why: str, *checks: str) -> Iterator[NextStep]:
    """What no probe does and the machine can do alone, once."""
    done = any(r.check in checks for one in here.graph.home for r in one.run.readings)
    if not done and here.bench.allows(Action.MEASURE, target="machine"):
        minutes = here.bench.knowledge.bench.actions.trial.minutes
        step = wording.bare(here, Action.MEASURE, "machine", why, minutes)
        yield msgspec.structs.replace(step, checks=checks)


def _unsafe(here: Situation) -> Iterator[NextStep]:
    """A swollen cell comes out first: it presses on what is thought to fail."""
    checks = here.bench.knowledge.checks
    places = (
        one.reading.at for one in here.found if one.failed and checks[one.reading.check].unsafe
    )
    for component in map(here.component_at, dict.fromkeys(places)):
        if component is not None and component.id in here.now.parts.values():
            minutes = here.bench.covers([component.kind]) + here.bench.hands(component.kind)
            target = str(component.id)
            yield wording.bare(here, Action.REPLACE, target, "unsafe.why", minutes)


def _unplugged(here: Situation) -> Iterator[NextStep]:
    """A start on battery alone, of what shows on battery and was looked at on its adapter."""
    runs = [one.run for one in here.graph.home if not measured_by_hand(one.run)]
    fed = (any(r.check == _FED and r.outcome is Outcome.PASSED for r in run.readings)
           for run in runs)  # fmt: skip
    asked = here.bench.on_battery and runs and not here.symptoms and all(fed)
    if asked and here.bench.allows(Action.MEASURE, target="machine"):
        minutes = here.bench.knowledge.bench.actions.trial.minutes
        step = wording.bare(here, Action.MEASURE, "machine", "on-battery.why", minutes)
        yield msgspec.structs.replace(step, checks=(_HOLDS,))


def _once_more(here: Situation) -> Iterator[NextStep]:
    """A figure that is often read wrongly is read twice before anything is done about it."""
    runs = (one.run for one in here.graph.as_now)
    judged = (r for run in runs for r in run.readings if r.outcome is not Outcome.NOT_JUDGED)
    read = Counter(reading.check for reading in judged)
    run, checks = here.now.run.number, here.bench.knowledge.checks
    for one in here.found:
        check = checks[one.reading.check]
        component = here.component_at(one.reading.at)
        target = one.reading.at if component is None else str(component.id)
        if not (check.again and one.failed and one.run == run and read[check.name] == 1):
            continue
        kind = component.kind if component is not None else None
        if here.bench.allows(Action.MEASURE, kind, target):
            yield wording.once_more(here, target, check)


def _vouched_for(here: Situation) -> Iterator[NextStep]:
    """What fails at the shop's own part as at the one before it: they had something in common."""
    components, checks = here.graph.components, here.bench.knowledge.checks
    alone = [(one, one.members[0][0]) for one in here.found if one.failed and len(one.members) == 1]
    for one, own in alone:
        part, check = components[own], checks[one.reading.check]
        before = {n for other, n in alone if other.reading.check == check.name} - {own}
        again = part.known_good and before and one.run == here.now.run.number
        if again and here.bench.allows(Action.MEASURE, part.kind, str(part.id)):
            step = wording.once_more(here, str(part.id), check)
            why = here.bench.knowledge.say("vouched-for.why", name=part.name)
            yield msgspec.structs.replace(step, why=why)


def in_front(here: Situation, judged: Verdict, steps: tuple[NextStep, ...]) -> tuple[NextStep, ...]:
    """The trials, and before them what an experienced hand does first."""
    if judged.groups and judged.groups[0].unit == MAINBOARD:
        first = [as_step(here, move) for move in a_board(here, judged.groups[0])]
        steps = (*first, *(step for step in steps if step not in first))
    # What is written can go wrong, what is without power cannot (common practice, no source);
    # and what does not answer may only hang until it was without.
    lead = steps[0].action if steps else None
    # What was spilled on was opened, and without power for that.
    hangs = lead in _ELSEWHERE and is_silent(here) and not here.bench.hurt
    if any_screw(here) or lead == Action.REFLASH or hangs:
        first = [as_step(here, m) for m in possible(here) if m.action == Action.POWER_AWAY]
        steps = (*first, *(step for step in steps if step not in first))
    first = [as_step(here, move) for move in a_losing_drive(here)]
    steps = (*first, *(step for step in steps if step not in first))
    if here.graph.complaint is Complaint.PART_MISSING and not here.symptoms:
        # What is missing shows at once: waiting for it comes last.
        steps = tuple(sorted(steps, key=lambda step: step.action == Action.SOAK))
    if settings.tried(here):
        steps = (*a_stalling_drive(here), *steps)
    return steps


def a_losing_drive(here: Situation) -> list[Move]:
    """A drive that loses data is tested, else another one tried, before anything else is done."""
    lost = losing(here)
    own = [move for move in possible(here) if move.about in lost]
    tests = [move for move in own if move.action == Action.DEEPER]
    return tests or [move for move in own if move.action == Action.SWAP]


def a_new_system(here: Situation, share: float) -> list[NextStep]:
    """What runs hot cleaned, the full tests once, and a look inside what comes and goes, while
    hardware is likely enough: nobody installs onto a drive, or through memory, that was not
    tested, nor for what dust slows down or a spill left (common practice, no source)."""
    sure = share >= _SURELY_THE_SYSTEM
    moves = (move for move in possible(here) if move.action == Action.DEEPER and not sure)
    steps = [*what_runs_hot(here), *(as_step(here, move) for move in moves)]
    goes = here.graph.complaint in (Complaint.UNSTABLE, Complaint.SWITCHES_OFF)
    if goes and not sure and not told_inside(here) and here.bench.allows(Action.INSPECT):
        steps.append(inspect(here))
    return steps


def by_meter(here: Situation) -> list[NextStep]:
    """What a meter is for measured, before no fault is said to be found."""
    kind, parts = BY_METER.get(here.graph.complaint), here.graph.components
    moves = (m for m in possible(here) if m.action == Action.MEASURE and m.about is not None)
    return [as_step(here, move) for move in moves if parts[move.about or 0].kind == kind]


def what_runs_hot(here: Situation) -> list[NextStep]:
    """The cooling cleaned, if the machine ran hot as it stands and heat may be what is meant."""
    same = here.graph.numbers_as_now
    hot = any(one.failed and one.run in same and one.symptom_group == _HEAT for one in here.found)
    return may_be_dirty(here) if hot else []


def may_be_dirty(here: Situation) -> list[NextStep]:
    """The cooling cleaned, if heat may be what is meant."""
    meant = complaint.possible(here.graph, here.bench.knowledge)
    return [as_step(here, move) for move in cleaning(here) if move.about in meant]


def a_heard_fan(here: Situation) -> list[NextStep]:
    """The cooling cleaned, where its fan was heard: what touches the blades is found by it."""
    last = (one for one in here.found if one.failed and one.run == here.looked)
    heard = any(one.reading.check == _HEARD for one in last)
    return [as_step(here, move) for move in cleaning(here)] if heard else []


def any_screw(here: Situation) -> bool:
    """Whether a controller that hangs is likely enough to be tried before any screw."""
    hung = here.graph.index.get(THE_HUNG)
    return hung is not None and here.belief.marginals[hung] >= _BEFORE_ANY_SCREW
