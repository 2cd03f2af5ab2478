"""Cases of the shop drive: opened, searched, changed. Files are read in threads."""

from __future__ import annotations

import asyncio
from pathlib import Path

from livecheck.console import case_files, steps
from livecheck.console.desk import Desk
from livecheck.console.judged_case import JudgedCase
from livecheck.console.screens.cases import CasesScreen
from livecheck.console.screens.pick import ChooseScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.console.screens.words import WordsScreen
from livecheck.console.steps import Step
from livecheck.records import Run
from livecheck.wording import moment, text, title


async def open_case(desk: Desk, step: steps.OpenCase) -> Step | None:
    """The verdict of a case."""
    case = await asyncio.to_thread(case_files.open_case, Path(step.path))
    if isinstance(case, str):
        return steps.Fail(case)
    await desk.go_home()
    await desk.push_screen(VerdictScreen(case))
    return None


async def rule_out(desk: Desk, step: steps.RuleOut) -> Step | None:
    """Keep in the case that a step cannot be done here, and judge anew."""
    path = Path(step.case.report).parent
    trouble = await asyncio.to_thread(case_files.rule_out, path, step.rule, step.back)
    return after_change(desk, path, trouble)


async def call_place(desk: Desk, step: steps.CallPlace) -> Step | None:
    """Ask what a place is called here, keep it, and show the case with it."""
    own = step.case.names.of(step.place).label
    name = await desk.ask(WordsScreen(text("where.places"), text("ask.called", name=own)))
    if name is None:
        return None
    path = Path(step.case.report).parent
    runs = step.case.loaded.runs
    trouble = await asyncio.to_thread(case_files.call_place, path, runs, step.place, name)
    return after_change(desk, path, trouble)


async def record_outcome(desk: Desk, case: JudgedCase, component: str, proved: bool) -> Step | None:
    """Keep what a repair proved."""
    trouble = await asyncio.to_thread(case_files.record_outcome, case, component, proved)
    return after_change(desk, Path(case.report).parent, trouble)


async def close_unmended(desk: Desk, case: JudgedCase) -> Step | None:
    """Close a case of which nothing was mended."""
    path = Path(case.report).parent
    trouble = await asyncio.to_thread(case_files.close_unmended, path)
    return after_change(desk, path, trouble)


async def take_out(desk: Desk, case: JudgedCase) -> Step | None:
    """Ask which run is no part of the case and why, or which is one after all."""
    about, aside = text("take-out.title"), {str(one.run) for one in case.loaded.case.taken_out}
    items = [(str(run.number), run_words(run)) for run in case.loaded.runs]
    items += [(run, text("take-out.put-back", number=run)) for run in sorted(aside, key=int)]
    chosen = await desk.ask(ChooseScreen(about, text("take-out.which"), items))
    if chosen is None:
        return None
    why = None
    if chosen not in aside:
        why = await desk.ask(WordsScreen(about, text("take-out.why", number=chosen)))
        if why is None:
            return None
    path = Path(case.report).parent
    trouble = await asyncio.to_thread(case_files.take_out, path, int(chosen), why)
    return after_change(desk, path, trouble)


def run_words(run: Run) -> str:
    """A run as it is told from the others of its case."""
    machine = run.inventory.machine.named or text("value.unknown")
    when, complaint = moment(run.started), title(run.complaint)
    return text("take-out.run", number=run.number, when=when, complaint=complaint, machine=machine)


def after_change(desk: Desk, path: Path, trouble: str | None) -> Step | None:
    """The changed case, or why it is not changed."""
    desk.say_alarm("case", trouble)
    return steps.OpenCase(str(path)) if trouble is None else None


async def list_cases(desk: Desk) -> Step | None:
    """The case index."""

    def progress(done: int, of: int) -> None:
        desk.call_from_thread(desk.say_alarm, "cases", text("alarm.reading", done=done, of=of))

    found = await asyncio.to_thread(case_files.list_cases, desk.shop, "", progress)
    desk.say_alarm("cases", None)
    if isinstance(found, str):
        return steps.Fail(found)
    await desk.push_screen(CasesScreen(desk.shop, found))
    return None
