"""What comes before trials and orders: questions, a look inside, what costs nothing.

Common practice of the trade, no source: a machine that was spilled on or fell is opened first,
what hangs is left without power before any screw, dirt and leads come before a board.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck.diagnosis import complaint
from livecheck.diagnosis.handover_checks import measured_by_hand
from livecheck.diagnosis.steps import questions, settings, wording
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.moves import possible
from livecheck.diagnosis.steps.prediction import results
from livecheck.diagnosis.steps.situation import SETS, Move, Situation, losing, whole
from livecheck.diagnosis.steps.treatments import SILENCE, cleaning
from livecheck.diagnosis.verdict import RepairGroup, Verdict
from livecheck.records import Complaint, LookedInside, NextStep, Outcome, Side
from livecheck.topology.came_to_light import GUIDED
from livecheck.topology.ids import MAINBOARD, THE_FIRMWARE, THE_HUNG, ComponentId

_BEFORE_A_BOARD: Final = (Action.POWER_AWAY, Action.EXCHANGE_LEAD)
_BEFORE_ANY_SCREW: Final = 0.12
"""Assumed: so likely, a controller that hangs is left without power before anything else."""
_DIRTY: Final = 0.1
"""Assumed: a contact this likely is made anew before a board is thought of."""
_UPDATED: Final = 0.2
"""Assumed: a drive this likely has its firmware updated before it is bought anew."""
_SURELY_THE_SYSTEM: Final = 0.8
"""Assumed: so likely, the installed system is put right without the full tests."""
_HEAT: Final = "heat"
_ADAPTER: Final = "adapter"
_FED: Final = "power.adapter"
"""Passed: power comes in."""
_HOLDS: Final = "power.holds-load"
SLEEP: Final = "sleep.wakes"
STALLS: Final = ("link", "pace")
"""Symptom groups of the checks that fail where a drive lets one wait or drops off its bus."""
_COVER: Final = "bottom cover"
"""Whoever had it off has looked inside."""
_HOT: Final = re.compile(r"-hot$|^heat\.|thermal|throttl")
"""Checks that fail by heat."""


def anything(here: Situation) -> Iterator[NextStep]:
    """What has to be told or looked at before anything can be concluded."""
    yield from questions.asked(here)
    if here.bench.hurt and not _looked_inside(here) and here.bench.allows(Action.INSPECT):
        yield inspect(here)
    yield from _unsafe(here)
    yield from _once_more(here)
    yield from _vouched_for(here)
    slept = any(r.check == SLEEP for one in here.graph.home for r in one.run.readings)
    if here.bench.sleeps and not slept and here.bench.allows(Action.MEASURE, target="machine"):
        minutes = here.bench.knowledge.bench.actions.trial.minutes
        step = wording.bare(here, Action.MEASURE, "machine", "sleep.why", minutes)
        yield msgspec.structs.replace(step, checks=(SLEEP,))
    yield from _unplugged(here)


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


def _looked_inside(here: Situation) -> bool:
    answers = (answer for one in here.graph.home for answer in one.run.answers)
    return LookedInside() in answers or _COVER in here.bench.opened


def inspect(here: Situation) -> NextStep:
    """The cover off, and a look."""
    minutes = here.bench.covers(["memory-module"]) + here.bench.trial()
    return wording.bare(here, Action.INSPECT, "machine", "why.inspect-inside", minutes)


def in_front(here: Situation, judged: Verdict, steps: tuple[NextStep, ...]) -> tuple[NextStep, ...]:
    """The trials, and before them what an experienced hand does first."""
    if judged.groups and judged.groups[0].unit == MAINBOARD:
        first = [as_step(here, move) for move in a_board(here, judged.groups[0])]
        steps = (*first, *(step for step in steps if step not in first))
    # What is written can go wrong, what is without power cannot (common practice, no source).
    if any_screw(here) or (steps and steps[0].action == Action.REFLASH):
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


def as_step(here: Situation, move: Move) -> NextStep:
    """A move, with what it would show."""
    return wording.step(here, move, results(move.tests, whole(here.belief)))


def a_losing_drive(here: Situation) -> list[Move]:
    """A drive that loses data is tested, else another one tried, before anything else is done."""
    lost = losing(here)
    own = [move for move in possible(here) if move.about in lost]
    tests = [move for move in own if move.action == Action.DEEPER]
    return tests or [move for move in own if move.action == Action.SWAP]


def a_stalling_drive(here: Situation) -> list[NextStep]:
    """Its own firmware, where it stalls or drops out and has lost nothing, before it is bought.

    Once a setting was tried, as that costs no risk.
    """
    lost = losing(here)
    steps = []
    for one in here.found:
        at = here.component_at(one.reading.at) if one.run == here.looked else None
        if not (one.failed and one.symptom_group in STALLS and at is not None and not one.beside):
            continue
        number, target = here.graph.index[at.id], str(at.id)
        # Told without a name, what was written anew is taken to be what was proposed.
        treated = max(here.now.treated.get(own, 0) for own in (at.id, THE_FIRMWARE))
        tried = treated or at.known_good or number in lost
        drive = at.kind == "drive" and at.side is Side.DEVICE and not at.external
        likely = here.belief.marginals[number] >= _UPDATED
        if drive and likely and not tried and here.bench.allows(Action.REFLASH, at.kind, target):
            steps.append(wording.update(here, number))
    return steps[:1]


def a_new_system(here: Situation, share: float) -> list[NextStep]:
    """What runs hot cleaned, and the full tests once, while hardware is likely enough: nobody
    installs onto a drive, or through memory, that was not tested, nor for what dust slows down
    (common practice, no source)."""
    sure = share >= _SURELY_THE_SYSTEM
    deeper = (move for move in possible(here) if move.action == Action.DEEPER and not sure)
    return [*what_runs_hot(here), *(as_step(here, move) for move in deeper)]


def what_runs_hot(here: Situation) -> list[NextStep]:
    """The cooling cleaned, if the machine ran hot as it stands and heat may be what is meant."""
    same = here.graph.numbers_as_now
    hot = any(one.failed and one.run in same and one.symptom_group == _HEAT for one in here.found)
    meant = complaint.possible(here.graph, here.bench.knowledge) if hot else ()
    return [as_step(here, move) for move in cleaning(here) if move.about in meant]


def any_screw(here: Situation) -> bool:
    """Whether a controller that hangs is likely enough to be tried before any screw."""
    hung = here.graph.index.get(THE_HUNG)
    return hung is not None and here.belief.marginals[hung] >= _BEFORE_ANY_SCREW


def a_board(here: Situation, group: RepairGroup) -> list[Move]:
    """Treatments, else contacts likely enough, before a board is thought of."""
    moves = possible(here)
    wanted = (*_BEFORE_A_BOARD, Action.CLEAN) if _by_heat(here, group) else _BEFORE_A_BOARD
    first = [move for move in moves if move.action in wanted]
    return first or [move for move in moves if _anew(here, move)]


def a_part(here: Situation, own: ComponentId) -> list[Move]:
    """All power away, which takes no screw, before what may only hang is ordered, and its contact
    made anew once before what does not answer, or fails by hand, is. What is the part's alone is
    no hang. Another adapter is plugged in, which takes no screw, before one is bought."""
    place, last = here.now.home(own), (here.looked, here.now.run.number)
    blamed = [
        (one, dict(one.members))
        for one in here.found
        if one.run in last and one.failed and here.graph.index[own] in dict(one.members)
    ]
    if place is None:
        return []
    silent = any(
        one.symptom_group == SILENCE or one.reading.check.startswith(GUIDED) for one, _ in blamed
    )
    hung = here.graph.index.get(THE_HUNG)
    meant = [set(members) for one, members in blamed if not one.finding]
    hangs = any(hung in some for some in meant) and {here.graph.index[own]} not in meant
    moves = possible(here)
    away = [move for move in moves if move.action == Action.POWER_AWAY]
    anew = [move for move in moves if move.action == Action.RESEAT and move.target == place]
    seated = here.now.seatings.get(place, 0)
    other = [move for move in moves if move.action == Action.SWAP and move.target == str(own)]
    plugged = here.now.kinds.get(own) == _ADAPTER
    return [
        *(away if hangs else ()),
        *(anew if silent and not seated else ()),
        *(other if plugged else ()),
    ]


def _anew(here: Situation, move: Move) -> bool:
    anew = move.action in (Action.RESEAT, Action.CLEAN_CONTACTS) and move.cures is not None
    return anew and here.belief.marginals[move.cures or 0] >= _DIRTY


def _by_heat(here: Situation, group: RepairGroup) -> bool:
    """Whether what is blamed on a unit failed by heat."""
    own = set(group.members)
    fails = (one for one in here.found if one.failed and own & {n for n, _ in one.members})
    return any(_HOT.search(one.reading.check) for one in fails)


def firmware_anew(here: Situation) -> list[NextStep]:
    """The board's firmware, while something fails and it was not written anew yet."""
    untried = here.now.treated.get(THE_FIRMWARE, 0) == 0 and here.fails_now
    return [wording.last_try(here)] if untried and here.bench.allows(Action.REFLASH) else []


def ordering_a_board(here: Situation, group: RepairGroup) -> list[NextStep]:
    """A look inside; the cooling cleaned, where the board fails by heat; and the board's firmware
    written anew where that comes sooner by P over C."""
    steps: list[NextStep] = []
    anew = firmware_anew(here)
    firmware = here.graph.index.get(THE_FIRMWARE)
    if anew and firmware is not None:
        ratio = here.belief.marginals[firmware] / here.bench.repair(firmware)
        steps += anew if ratio > group.probability / here.bench.repair(group.lead) else []
    if _by_heat(here, group):
        kept = here.belief.sets[:SETS]
        steps += [
            wording.step(here, move, results(move.tests, kept))
            for move in possible(here)
            if move.action == Action.CLEAN
        ]
    if not _looked_inside(here) and here.bench.allows(Action.INSPECT):
        steps.append(inspect(here))
    return steps
