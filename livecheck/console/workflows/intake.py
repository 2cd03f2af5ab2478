"""The intake sheet: of the case in front, else of the one that the next run opens."""

from __future__ import annotations

import asyncio
from pathlib import Path

from livecheck import heed, knowledge
from livecheck.console import case_files
from livecheck.console.desk import Desk
from livecheck.console.judged_case import JudgedCase
from livecheck.console.screens.intake import IntakeScreen
from livecheck.console.steps import Step
from livecheck.console.workflows.cases import after_change
from livecheck.worded import worded


async def fill(desk: Desk, case: JudgedCase | None) -> Step | None:
    """Ask, and keep what was told: in the case, or for the run to come."""
    before = case.loaded.case.told if case is not None else desk.told
    tables = worded(knowledge.load())
    told = await desk.ask(IntakeScreen(tables.intake, before))
    if told is None or told == before:
        return None
    if case is None:
        desk.told = told
        desk.start.intake(len(told), [one.text for one in heed.told(told, tables)])
        return None
    path = Path(case.report).parent
    return after_change(desk, path, await asyncio.to_thread(case_files.keep_told, path, told))
