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
from livecheck.console.screens.pick import ChooseScreen, ConfirmScreen, Item
from livecheck.console.steps import Begin, Step
from livecheck.console.workflows import bench_tests, cases, closing, intake
from livecheck.plan import Plan
from livecheck.wording import text

MORE: Final[tuple[Item, ...]] = (
    (Task.METERS, "Meters: heat, fans, power, battery, live"),
    (Task.FLEX, "Flex test: losses of power while plug and lead are moved"),
    (Task.GUIDED, "Guided checks: keyboard, screen, sound, ports and the like"),
    (Task.INTAKE, "Intake sheet: what was told and seen when it came in; notes"),
    (Task.SELF_TEST, "Self-test of a drive: the drive tests itself; you are asked first"),
)
OF_A_CASE: Final[tuple[Item, ...]] = (
    (Task.HAND_OVER, "Hand-over: the last run before the machine goes back"),
    (Task.OUTCOME, "Outcome: record what the repair proved, and close the case"),
    (Task.TAKE_OUT, text("take-out.task")),
)
SWITCH_OFF: Final = (
    "Switch this machine off now? What was saved stands; the next boot goes on.\n"
    "Y switches off, N goes back."
)


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
    items = (*MORE, *(OF_A_CASE if step.case is not None else ()))
    task = await desk.ask(ChooseScreen("more tests", "What else?", items))
    return Begin(Task(task), step.plan, step.case) if task is not None else None


async def _options(desk: Desk) -> Step | None:
    chosen = await desk.ask(OptionsScreen(desk.options or RunOptions()))
    return flow.decide(OptionsSet(chosen), desk.state) if chosen is not None else None


async def _switch_off(desk: Desk) -> Step | None:
    if await desk.ask(ConfirmScreen("switch off", SWITCH_OFF)):
        async for reply in desk.link.ask(SwitchOff()):
            if isinstance(reply, Trouble):
                desk.say_alarm("off", reply.says)
    return None
