"""From the machine on the bench to a saved run."""

from __future__ import annotations

import asyncio
from pathlib import Path

from livecheck import knowledge
from livecheck.console import flow, steps
from livecheck.console.case_files import ShopWatch
from livecheck.console.desk import Desk
from livecheck.console.events import Measured, PlacesTicked, RunWanted, Surveyed, Worked
from livecheck.console.progress import in_words
from livecheck.console.replies import Finished, Happened, Looked, Proposed, Trouble
from livecheck.console.requests import (
    SaveKept,
    SleepAndWake,
    StartAgain,
    SurveyMachine,
    TakeRun,
)
from livecheck.console.screens.pick import PickScreen
from livecheck.console.screens.resume import ResumeScreen
from livecheck.console.screens.running import RunningScreen
from livecheck.console.screens.unsaved import UnsavedScreen
from livecheck.console.screens.worksheet import WorksheetScreen
from livecheck.console.steps import Step
from livecheck.languages import adopt, spoken
from livecheck.plan import Plan, planned_probes
from livecheck.worded import worded
from livecheck.worded_forms import worded_sheet
from livecheck.wording import text


async def survey(desk: Desk, step: steps.Survey) -> Step | None:
    """Ask the worker which machine and case this is, once its cases can be read."""
    desk.proposed = desk.surveyed_for = None
    if step.run_wanted:
        desk.start.looking()
    await desk.wait_for_drive()
    async for reply in desk.link.ask(SurveyMachine(step.plan)):
        if isinstance(reply, Looked):
            await _looked(desk, reply, step)
        elif isinstance(reply, Proposed):
            _proposed(desk, reply)
        elif isinstance(reply, Trouble):
            desk.start.trouble(reply.says)
            desk.surveyed_for = (step.plan.ticket,)
            return flow.decide(RunWanted(), desk.state) if step.run_wanted else None
    return None


async def _looked(desk: Desk, looked: Looked, step: steps.Survey) -> None:
    ticket = step.plan.ticket
    desk.looked, desk.surveyed_for = looked, (ticket,)
    desk.shop_watch = await asyncio.to_thread(ShopWatch, Path(looked.shop), desk.shop)
    if looked.language != spoken() and desk.link.language is None:
        adopt(looked.language)
        await desk.start.reword()
    desk.start.show(looked)
    busy = desk.start.ticket not in (None, ticket) or desk.screen is not desk.start
    desk.happened(Surveyed(looked=looked, busy=busy, run_wanted=step.run_wanted))


def _proposed(desk: Desk, proposed: Proposed) -> None:
    desk.proposed = proposed
    for screen in desk.screen_stack:
        if isinstance(screen, ResumeScreen):
            screen.show_proposed(proposed)


async def ask_resume(desk: Desk, step: steps.AskResume) -> Step | None:
    """What was done since the machine was here, and how to go on."""
    resumed = await desk.ask(ResumeScreen(step.looked, step.known, desk.proposed))
    return flow.decide(resumed, desk.state) if resumed is not None else None


async def ask_places(desk: Desk, step: steps.AskPlaces) -> Step | None:
    """What the technician sees fitted where the machine sees nothing."""
    items = [(place.value, place.label) for place in step.places]
    ticked = await desk.ask(
        PickScreen(text("where.adapter-and-battery"), text("ask.places"), items, ())
    )
    return flow.decide(PlacesTicked(step.plan, ticked or ()), desk.state)


async def measure(desk: Desk, step: steps.Measure) -> Step | None:
    """The worksheet of a machine that does not start."""
    sheet, tables, told = (
        worded_sheet(knowledge.worksheet()),
        worded(knowledge.load()),
        (*step.told, *step.plan.told),
    )
    filled = await desk.ask(WorksheetScreen(step.plan.complaint, sheet, tables, told))
    return flow.decide(Measured(step.plan, filled), desk.state) if filled is not None else None


async def start_run(desk: Desk, step: steps.StartRun) -> Step | None:
    """One run: its screen while it lasts."""
    plan = step.plan
    screen = RunningScreen(planned_probes(plan), step.lasted, plan.depth)
    await desk.go_home()
    _taken_along(desk, plan)
    await desk.push_screen(screen)
    called = desk.looked.called if desk.looked is not None else {}
    async for reply in desk.link.ask(TakeRun(plan)):
        if isinstance(reply, Happened):
            screen.happened(in_words(reply.event, called))
        elif (following := flow.decide(Worked(reply, plan), desk.state)) is not None:
            return following
    return None


def _taken_along(desk: Desk, plan: Plan) -> None:
    """The run brings the intake sheet into its case, which the next survey will find."""
    desk.surveyed_for = None
    if plan.told:
        desk.told = ()
        desk.start.intake(0)


async def work(desk: Desk, step: steps.Work) -> Step | None:
    """Something the worker saves by itself."""
    _taken_along(desk, step.job.plan)
    alarms = {SleepAndWake: "alarm.sleeping", StartAgain: "alarm.restarting"}
    desk.say_alarm("saving", text(alarms.get(type(step.job), "alarm.saving")))
    following = None
    async for reply in desk.link.ask(step.job):
        if isinstance(step.job, SaveKept) and isinstance(reply, Finished):
            desk.kept.pop(step.job.file, None)
        following = flow.decide(Worked(reply, step.job.plan), desk.state) or following
    desk.say_alarm("saving", None)
    return following


async def fail(desk: Desk, step: steps.Fail) -> Step | None:
    """Back to the start, which keeps the message in sight; a kept run can be saved again."""
    await desk.go_home()
    desk.start.trouble(step.says)
    if step.kept is None or step.plan is None:
        return None
    job = desk.kept.setdefault(step.kept, SaveKept(step.plan, step.kept))
    again = await desk.ask(UnsavedScreen(step.says, step.kept))
    return steps.Work(job) if again and step.kept in desk.kept else None
