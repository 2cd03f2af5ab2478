"""Doing what the flow decided: each step with the screens and files it needs.

Imported once the first screen stands; with it come all other screens.
"""

from __future__ import annotations

from livecheck.console import steps
from livecheck.console.desk import Desk
from livecheck.console.steps import Step
from livecheck.console.workflows import cases, runs, tasks
from livecheck.console.workflows.looking import show


async def carry_out(desk: Desk, step: Step) -> Step | None:
    """Do one step; returns the one that follows from it, if any."""
    match step:
        case steps.NewJob():
            desk.start.blank()
            desk.surveyed_for = (None,)
            desk.told = ()
            desk.start.intake(0)
            return None
        case steps.SetOptions():
            desk.options = step.options
            desk.start.options(step.options.says())
            return None
        case steps.SendOrder():
            desk.link.order(step.order)
            return None
        case steps.Survey():
            return await runs.survey(desk, step)
        case steps.AskResume():
            return await runs.ask_resume(desk, step)
        case steps.AskPlaces():
            return await runs.ask_places(desk, step)
        case steps.Measure():
            return await runs.measure(desk, step)
        case steps.StartRun():
            return await runs.start_run(desk, step)
        case steps.Work():
            return await runs.work(desk, step)
        case steps.Fail():
            return await runs.fail(desk, step)
        case steps.OpenCase():
            return await cases.open_case(desk, step)
        case steps.RuleOut():
            return await cases.rule_out(desk, step)
        case steps.CallPlace():
            return await cases.call_place(desk, step)
        case steps.Begin():
            return await tasks.begin(desk, step)
        case _:
            await show(desk, step)
            return None
