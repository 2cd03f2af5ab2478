"""What the workflows stand on: the app with its first screen, its worker and its drive."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from textual.screen import Screen

from livecheck.console.frame import BenchApp, TitleLine, english_told
from livecheck.console.link import WorkerLink
from livecheck.console.screens.start import StartScreen

if TYPE_CHECKING:
    from livecheck.console.answers import RunOptions
    from livecheck.console.case_files import ShopWatch
    from livecheck.console.events import Event
    from livecheck.console.flow import State
    from livecheck.console.replies import Looked, Proposed
    from livecheck.console.requests import SaveKept
    from livecheck.console.views import View
    from livecheck.records import ToldLine

_T = TypeVar("_T")


class Desk(BenchApp):
    """One technician's console."""

    def __init__(self, shop: Path | None = None, source: Path | None = None) -> None:
        super().__init__()
        self.shop = shop
        self.source = source
        """A capture to replay instead of this machine."""
        self.link = WorkerLink(shop, source)
        self.start = StartScreen()
        self.shop_watch: ShopWatch | None = None
        """The drive of the cases; None: not known yet."""
        self.looked: Looked | None = None
        self.surveyed_for: tuple[str | None] | None = None
        """The ticket that was last looked for; None: nobody looked yet."""
        self.proposed: Proposed | None = None
        """What the machine's case says so far."""
        self.kept: dict[str, SaveKept] = {}
        """Runs the shop drive refused, by the file in memory that holds them."""
        self.bringing = False
        """What is kept in memory is being saved."""
        self.options: RunOptions | None = None
        self.told: tuple[ToldLine, ...] = ()
        """Of the intake sheet, before the machine has a case."""

    @property
    def state(self) -> State:
        """What the flow decides by."""
        from livecheck.console.answers import RunOptions
        from livecheck.console.flow import State

        return State(
            looked=self.looked,
            surveyed=self.surveyed_for == (self.start.ticket,),
            options=self.options or RunOptions(),
            ticket=self.start.ticket,
            complaint=self.start.complaint,
            told=self.told,
        )

    def happened(self, what: Event | View) -> None:
        """Have the flow decide what comes next, and do it."""
        raise NotImplementedError

    async def wait_for_drive(self) -> None:
        """Until a shop drive was looked for, where something else does that."""
        raise NotImplementedError

    async def ask(self, screen: Screen[_T]) -> _T | None:
        """Show a screen until it is left; what was answered on it."""
        return await self.push_screen_wait(screen)

    def say_stick(self, says: str | None) -> None:
        """Whether the stick may be pulled: in a word on every screen, and why on the first."""
        says = says and english_told(says)
        if says != self.stick:
            self.stick = says
            self.start.stick(says or "")
            for screen in self.screen_stack:
                for line in screen.query(TitleLine):
                    line.refresh()

    async def go_home(self) -> None:
        """Back to the first screen."""
        while self.screen is not self.start and len(self.screen_stack) > 1:
            await self.pop_screen()
