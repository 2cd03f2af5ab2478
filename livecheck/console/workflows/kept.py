"""What was kept in memory goes onto the shop drive, once one is there (again)."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from livecheck.console.desk import Desk
from livecheck.console.replies import Finished, Trouble
from livecheck.console.requests import BringKept
from livecheck.console.screens.unsaved import UnsavedScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.console.steps import OpenCase, Step, Survey
from livecheck.plan import Plan
from livecheck.wording import text

SHOWN_SECONDS: Final = 60.0
"""What was saved, on every screen."""


async def bring_kept(desk: Desk) -> Step | None:
    """A shop drive is there: what is kept in memory goes onto it by itself."""
    desk.bringing = True
    try:
        cases = await _bring(desk)
    finally:
        desk.bringing = False
    screen = desk.screen
    if cases and isinstance(screen, VerdictScreen) and not Path(screen.case.report).is_file():
        # The case shown is on the drive by now, and changed there from here on.
        return OpenCase(cases[-1])
    return Survey(Plan()) if desk.looked and not desk.looked.lasts else None


async def _bring(desk: Desk) -> list[str]:
    """Folders of the cases that are on the drive now."""
    kept = dict(desk.kept)
    if isinstance(desk.screen, UnsavedScreen):
        # That one is saved as if R were pressed, and its verdict shown.
        kept.pop(desk.screen.kept, None)
        desk.screen.dismiss(True)
    desk.say_alarm("saving", text("alarm.bringing"))
    trouble: str | None = None
    cases: list[str] = []
    async for reply in desk.link.ask(BringKept(tuple(kept.values()))):
        if isinstance(reply, Trouble):
            trouble = reply.says
        elif isinstance(reply, Finished):
            cases.append(reply.case_folder)
    if trouble is None:
        for file in kept:
            desk.kept.pop(file, None)
    names = ", ".join(Path(case).name for case in cases)
    saved = text("alarm.brought", cases=names) if cases else None
    desk.say_alarm("saving", trouble or saved)
    if trouble is None:
        desk.set_timer(SHOWN_SECONDS, lambda: desk.say_alarm("saving", None))
    return cases
