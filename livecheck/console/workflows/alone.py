"""What the machine does by itself once it is agreed to: sleep and wake, restart again and again."""

from __future__ import annotations

import asyncio
from typing import Final

from livecheck import knowledge, sleep_test
from livecheck.console import steps, views
from livecheck.console.desk import Desk
from livecheck.console.frame import english_told
from livecheck.console.requests import SleepAndWake, StartAgain
from livecheck.console.screens.pick import ChooseScreen, ConfirmScreen
from livecheck.console.steps import Step
from livecheck.console.workflows.bench_tests import host_of
from livecheck.plan import Plan, SleepAsked
from livecheck.starts import course
from livecheck.starts.planned import StartsPlan
from livecheck.worded import worded
from livecheck.wording import text

COUNTS: Final = ((5, 0), (0, 5), (5, 5), (20, 20))
"""Warm and cold starts to choose from (assumed: a minute or two each)."""


async def sleep(desk: Desk, plan: Plan) -> Step | None:
    """As often as the command does by itself; what it will do is said before it is asked."""
    where, asked = text("where.sleep"), SleepAsked()
    try:
        how = await asyncio.to_thread(sleep_test.kind, host_of(desk))
    except sleep_test.CannotSleep as error:
        return views.Notice(where, (english_told(str(error)),))
    told = sleep_test.explained(asked.times, asked.seconds, how, worded(knowledge.load()))
    return await _agreed(desk, where, told, SleepAndWake(plan, asked))


async def starts(desk: Desk, plan: Plan) -> Step | None:
    """Choose how many; what they will do is said before it is asked."""
    where = text("where.starts")
    items = [(f"{warm} {cold}", text("ask.starts-of", warm=warm, cold=cold))
             for warm, cold in COUNTS]  # fmt: skip
    what = await desk.ask(ChooseScreen(where, text("ask.starts"), items))
    if what is None:
        return None
    warm, cold = map(int, what.split())
    asked = StartsPlan(warm=warm, cold=cold)
    try:
        await asyncio.to_thread(course.ready, host_of(desk), cold)
    except course.CannotStart as error:
        return views.Notice(where, (english_told(str(error)),))
    told = course.explained(asked, worded(knowledge.load()))
    return await _agreed(desk, where, told, StartAgain(plan, asked))


async def _agreed(
    desk: Desk, where: str, told: list[str], job: SleepAndWake | StartAgain
) -> Step | None:
    says, *heed = told
    asks = f"{english_told(says)}\n{text('ask.begins')}"
    return steps.Work(job) if await desk.ask(ConfirmScreen(where, asks, heed)) else None
