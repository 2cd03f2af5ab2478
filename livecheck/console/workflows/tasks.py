"""What can be begun besides a run: by a key, or from the list of more tests."""

from __future__ import annotations

from typing import Final

from livecheck.console import flow, steps
from livecheck.console.answers import RunOptions
from livecheck.console.desk import Desk
from livecheck.console.events import OptionsSet, Task
from livecheck.console.replies import Trouble
from livecheck.console.requests import SwitchOff
from livecheck.console.screens.options import OptionsScreen
from livecheck.console.screens.pick import ChooseScreen, ConfirmScreen
from livecheck.console.steps import Begin, Step
from livecheck.console.workflows import alone, bench_tests, cases, closing, intake
from livecheck.plan import Plan
from livecheck.wording import text

MORE: Final = (Task.METERS, Task.FLEX, Task.GUIDED, Task.INTAKE, Task.SELF_TEST,
               Task.SLEEP, Task.STARTS)  # fmt: skip
OF_A_CASE: Final = (Task.HAND_OVER, Task.OUTCOME, Task.TAKE_OUT)


async def begin(desk: Desk, step: Begin) -> Step | None:
    """The task's own workflow."""
    match step.task:
        case Task.MORE | Task.DO_NOW:
            return await _more(desk, step)
        case Task.CASES:
            return await cases.list_cases(desk)
        case Task.OPTIONS:
            return await _options(desk)
        case Task.INTAKE:
            return await intake.fill(desk, step.case)
        case Task.METERS:
            return await bench_tests.meters(desk)
        case Task.FLEX:
            return await bench_tests.flex_test(desk, step.plan)
        case Task.GUIDED:
            return await bench_tests.guided_checks(desk, step.plan)
        case Task.SELF_TEST:
            return await bench_tests.self_test(desk, step.plan)
        case Task.SLEEP:
            return await alone.sleep(desk, step.plan)
        case Task.STARTS:
            return await alone.starts(desk, step.plan)
        case Task.HAND_OVER:
            return await closing.hand_over(desk, step.plan, step.case)
        case Task.OUTCOME:
            return await closing.outcome(desk, step.case) if step.case is not None else None
        case Task.TAKE_OUT:
            return await cases.take_out(desk, step.case) if step.case is not None else None
        case Task.START_OVER:
            await desk.go_home()
            return steps.Survey(Plan(ticket=desk.start.ticket))
        case Task.SWITCH_OFF:
            return await _switch_off(desk)


async def _more(desk: Desk, step: Begin) -> Step | None:
    tasks = (*MORE, *(OF_A_CASE if step.case is not None else ()))
    items = [(task.value, text(f"task.{task.value}")) for task in tasks]
    task = await desk.ask(ChooseScreen(text("where.more-tests"), text("ask.more"), items))
    return Begin(Task(task), step.plan, step.case) if task is not None else None


async def _options(desk: Desk) -> Step | None:
    chosen = await desk.ask(OptionsScreen(desk.options or RunOptions()))
    return flow.decide(OptionsSet(chosen), desk.state) if chosen is not None else None


async def _switch_off(desk: Desk) -> Step | None:
    if await desk.ask(ConfirmScreen(text("where.switch-off"), text("ask.switch-off"))):
        async for reply in desk.link.ask(SwitchOff()):
            if isinstance(reply, Trouble):
                desk.say_alarm("off", reply.says)
    return None
