"""What comes next on the console: pure.

Screens and the worker tell what happened (``events``); ``decide`` says what is to be
done (``steps``) or looked at (``views``); the app has it done by the workflows.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.console import events, steps
from livecheck.console.answers import RunOptions, Way
from livecheck.console.events import Event
from livecheck.console.judged_case import JudgedCase
from livecheck.console.replies import Finished, Looked, Trouble
from livecheck.console.requests import SaveWorksheet
from livecheck.console.steps import Step
from livecheck.console.views import View
from livecheck.diagnosis.steps.actions import SLEEP, STARTS, Action
from livecheck.plan import BY_EYE, FULL, WORKSHEETS, Plan
from livecheck.records import Complaint, PluggedIn, ToldLine
from livecheck.way_on import Leg

_ALONE: Final = {(SLEEP,): events.Task.SLEEP, STARTS: events.Task.STARTS}
"""By the checks of a step: what the machine does by itself."""


class State(msgspec.Struct, frozen=True, kw_only=True):
    """What is known when something happens."""

    looked: Looked | None = None
    """None: the machine was not looked at yet."""
    surveyed: bool = True
    """False: whether there is a case of this machine, or of this ticket, is not known yet."""
    options: RunOptions = RunOptions()
    ticket: str | None = None
    """As typed on the first screen; the complaint as chosen there."""
    complaint: Complaint = Complaint.INTAKE
    told: tuple[ToldLine, ...] = ()
    """Of the intake sheet, before the machine has a case."""


def decide(what: Event | View, state: State) -> Step | None:
    """What comes next; None: nothing."""
    match what:
        case events.Surveyed():
            return _after_survey(what, state)
        case events.TicketTyped():
            return steps.Survey(Plan(ticket=state.ticket, complaint=state.complaint))
        case events.RunWanted():
            return _run_wanted(state)
        case events.Resumed():
            return _after_resume(what, state)
        case events.PlacesTicked():
            return _after_places(what, state)
        case events.Measured():
            return steps.Work(SaveWorksheet(what.plan, what.filled))
        case events.Worked():
            return _after_work(what)
        case events.OptionsSet():
            return steps.SetOptions(what.options)
        case events.Ordered():
            return steps.SendOrder(what.order)
        case events.CaseChosen():
            return steps.OpenCase(what.path)
        case events.StepRuledOut():
            return steps.RuleOut(what.case, what.rule, what.back)
        case events.PlaceCalled():
            return steps.CallPlace(what.case, what.place)
        case events.TaskWanted(task=events.Task.DO_NOW, case=JudgedCase() as case):
            return _do_now(case, state)
        case events.TaskWanted():
            return steps.Begin(what.task, plan_of(what.case, state), what.case)
        case _:
            return what


def plan_of(case: JudgedCase | None, state: State) -> Plan:
    """A plan that goes on with the case in front, else with the machine's, else a new one."""
    if case is not None:
        record = case.loaded.case
        return Plan(case=record.id, ticket=record.ticket, complaint=record.complaint)
    known = state.looked.known if state.looked is not None else None
    if known is not None:
        return Plan(case=known.case, ticket=known.ticket, complaint=known.complaint)
    return Plan(ticket=state.ticket, complaint=state.complaint)


def start_run(plan: Plan, state: State) -> steps.StartRun:
    """A run, with what its probes took last time at the same depth."""
    known = state.looked.known if state.looked is not None else None
    same = known is not None and known.lasted_depth == plan.depth
    return steps.StartRun(plan, known.lasted if known is not None and same else {})


def _do_now(case: JudgedCase, state: State) -> Step:
    """What is proposed, begun; what takes hands ends in a new run, which asks what was done."""
    plan, step = plan_of(case, state), case.next_step
    if case.way_on:
        last = all(one.leg is not Leg.HAND_OVER for one in case.way_on)
        return steps.Begin(events.Task.OUTCOME if last else events.Task.HAND_OVER, plan, case)
    if step is not None and step.action == Action.SOAK:
        soak = msgspec.structs.replace(plan, soak_hours=step.minutes / 60)
        return start_run(soak, state)
    if step is not None and step.action == Action.DEEPER:
        return start_run(msgspec.structs.replace(plan, depth=FULL), state)
    alone = _ALONE.get(step.checks) if step is not None else None
    if alone is not None:
        return steps.Begin(alone, plan, case)
    if step is not None and step.action == Action.MEASURE and plan.complaint in WORKSHEETS:
        return steps.Measure(plan)
    by_eye = plan.complaint in BY_EYE or (step is not None and _guided(step.checks))
    if step is not None and step.action == Action.MEASURE and by_eye:
        return steps.Begin(events.Task.GUIDED, plan, case)
    return steps.Begin(events.Task.START_OVER, plan, case)


def _guided(checks: Sequence[str]) -> bool:
    """Whether the guided checks are what tells."""
    return bool(checks) and all(name.startswith("guided.") for name in checks)


def _plan(complaint: Complaint, ticket: str | None, state: State) -> Plan:
    options = state.options
    return Plan(
        complaint=complaint,
        ticket=ticket,
        depth=options.depth,
        probes=options.probes,
        told=state.told,
    )


def _run_wanted(state: State) -> Step:
    """A run, once it is known that no case waits for this machine: else its swaps were lost."""
    plan = _plan(state.complaint, state.ticket, state)
    return _toward_run(plan, state) if state.surveyed else steps.Survey(plan, run_wanted=True)


def _after_survey(what: events.Surveyed, state: State) -> Step | None:
    known = what.looked.known
    if what.busy:
        return None
    if known is not None:
        return steps.AskResume(what.looked, known)
    return _run_wanted(state) if what.run_wanted else None


def _after_resume(what: events.Resumed, state: State) -> Step:
    known, told = what.known, what.answers
    if what.way is Way.OTHER:
        return steps.NewJob()
    if what.way is Way.OPEN:
        folder = state.looked.shop if state.looked is not None else ""
        return steps.OpenCase(f"{folder}/{known.case}")
    plan = msgspec.structs.replace(
        _plan(known.complaint, known.ticket, state),
        case=known.case,
        known_good=told.known_good,
        reseated=told.reseated,
        in_known_good_machine=told.in_known_good_machine,
        answers=told.answers(),
        cannot=told.cannot,
        can=tuple(one for one in known.cannot if one not in told.cannot),
    )
    if what.way is Way.MEASURE:
        return steps.Measure(plan, known.told)
    return _ask_places(plan, state)


def _toward_run(plan: Plan, state: State) -> Step:
    return steps.Measure(plan) if plan.complaint in WORKSHEETS else _ask_places(plan, state)


def _ask_places(plan: Plan, state: State) -> Step:
    """What no sensor tells and the run needs, then the run.

    A jack without power does not tell a dead adapter from none, nor an empty bay a silent
    battery: for a machine that does not charge they are the first thing to ask.
    """
    if plan.complaint is Complaint.NOT_CHARGING and state.looked is not None:
        told = {answer.place for answer in plan.answers if isinstance(answer, PluggedIn)}
        places = tuple(place for place in state.looked.seeming if place.value not in told)
        if places:
            return steps.AskPlaces(plan, places)
    return start_run(plan, state)


def _after_places(what: events.PlacesTicked, state: State) -> Step:
    told = tuple(PluggedIn(place=place) for place in what.places)
    plan = msgspec.structs.replace(what.plan, answers=(*what.plan.answers, *told))
    return start_run(plan, state)


def _after_work(what: events.Worked) -> Step | None:
    reply = what.reply
    if isinstance(reply, Finished):
        return steps.OpenCase(reply.case_folder)
    if isinstance(reply, Trouble):
        return steps.Fail(reply.says, what.plan, reply.kept)
    return None
