"""Screens that only show."""

from __future__ import annotations

from typing import Any, assert_never

from textual.screen import Screen

from livecheck.console import views
from livecheck.console.desk import Desk
from livecheck.console.frame import english_told
from livecheck.console.screens.big import BigScreen
from livecheck.console.screens.evidence import EvidenceScreen, ReadingScreen
from livecheck.console.screens.help import HelpScreen
from livecheck.console.screens.parts import PartsScreen
from livecheck.console.screens.pick import TellScreen
from livecheck.console.screens.step import StepScreen
from livecheck.console.screens.tree import TreeScreen
from livecheck.console.views import View


async def show(desk: Desk, view: View) -> None:
    """The view's screen, before the one that asked for it."""
    await desk.push_screen(_screen(view))


def _screen(view: View) -> Screen[Any]:
    match view:
        case views.EvidenceView():
            return EvidenceScreen(view.line, view.proofs)
        case views.ReadingView():
            return ReadingScreen(view.where, view.reading)
        case views.StepView():
            return StepScreen(view.case)
        case views.TreeView():
            return TreeScreen(view.case)
        case views.PartsView():
            return PartsScreen(view.sheets)
        case views.BigView():
            return BigScreen(view.words)
        case views.HelpView():
            return HelpScreen(view)
        case views.Notice():
            return TellScreen(view.title, tuple(map(english_told, view.says)))
        case _:
            assert_never(view)
