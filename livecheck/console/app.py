"""The app: what happens on a screen goes to the flow, and what it decides is done.

Only what the first screen needs is imported with this module; the rest is fetched
in a thread while the technician reads, which also keeps it at hand when the stick is
pulled later.
"""

from __future__ import annotations

import asyncio
import gc
import importlib
import sys
import time
from typing import TYPE_CHECKING, Any, ClassVar, Final

from textual import on, work
from textual.binding import Binding, BindingType
from textual.events import Event as Incoming
from textual.events import Key
from textual.screen import Screen

from livecheck.console import theme
from livecheck.console.desk import Desk
from livecheck.console.frame import Said
from livecheck.console.waiting import (
    LOOKED_EVERY_SECONDS,
    SAID_AFTER_SECONDS,
    WAITED_SECONDS,
    looked_for,
    told,
)
from livecheck.languages import ENGLISH, adopt
from livecheck.wording import text

if TYPE_CHECKING:
    from pathlib import Path

    from livecheck.console.aloud import Aloud
    from livecheck.console.events import Event
    from livecheck.console.steps import Step
    from livecheck.console.views import View

WATCHED_EVERY_SECONDS: Final = 3.0
"""The shop drive; a pulled stick is told within this time."""
STICK_STATE: Final = "/run/livecheck/stick"
"""Whether the stick may be pulled, in a sentence; written on a stick (system_to_memory.py)."""
LATER: Final = ("livecheck.console.flow", "livecheck.console.workflows")
"""Fetched while the first screen is read; every other screen comes with them."""


class Console(Desk):
    """livecheck on a screen, by keyboard alone."""

    CSS_PATH = "app.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+l", "redraw", "Redraw", show=False),
        Binding("ctrl+t", "aloud", "Read out", show=False),
    ]

    speaks: str | None = None
    """Why the flow without a screen takes over (``blind_start``); None: it does not."""
    _aloud: Aloud | None = None
    """Reads screens out; None: nobody asked for it."""
    _tried: tuple[str, ...] = ()
    """What was waiting for the shop drive when it was last tried to save it."""
    _watching = False
    _waited = 0.0
    """Seconds the shop drive was waited for so far, by whichever look at the machine."""

    def __init__(
        self,
        shop: Path | None = None,
        source: Path | None = None,
        may_speak: bool = False,
        language: str | None = None,
    ) -> None:
        """``language``: None: what the shop's file says, English until it was read."""
        super().__init__(shop, source)
        self.link.language = language
        adopt(language or ENGLISH)
        self._may_speak = may_speak
        """True: where nobody sees the first screen, the flow without one takes over."""
        self._since = time.monotonic()

    async def on_event(self, event: Incoming) -> None:
        """Whoever presses a key sees what stands there."""
        if isinstance(event, Key):
            self._may_speak = False
        await super().on_event(event)

    def on_mount(self) -> None:
        """Show the first screen and look at the machine meanwhile."""
        theme.use_console_glyphs()
        self.register_theme(theme.BENCH)
        self.theme = theme.BENCH.name
        self.push_screen(self.start)
        self.call_after_refresh(self.look)
        self.set_interval(WATCHED_EVERY_SECONDS, self.watch_shop)

    async def on_unmount(self) -> None:
        """No worker outlives the console."""
        await self.link.end()

    @work(exclusive=True, group="look")
    async def look(self) -> None:
        """Which machine and case is this? A key pressed meanwhile may have asked it already."""
        await asyncio.to_thread(_fetch)
        from livecheck.console.steps import Survey
        from livecheck.plan import Plan

        survey = Survey(Plan())
        if _group(survey) not in {worker.group for worker in self.workers}:
            self._go(survey)

    async def wait_for_drive(self) -> None:
        """On a stick, until its start has looked for a shop drive; else not at all."""
        while self._waited < WAITED_SECONDS and not await asyncio.to_thread(looked_for):
            await asyncio.sleep(LOOKED_EVERY_SECONDS)
            self._waited += LOOKED_EVERY_SECONDS
            long = self._waited > SAID_AFTER_SECONDS
            self.say_alarm("wait", text("alarm.waiting") if long else None)
        self.say_alarm("wait", None)

    @on(Said)
    def _said(self, message: Said) -> None:
        self.happened(message.what)

    def happened(self, what: Event | View) -> None:
        """Have the flow decide what comes next, and do it."""
        from livecheck.console import flow

        step = flow.decide(what, self.state)
        if step is not None:
            self._go(step)

    def _go(self, step: Step) -> None:
        """Do a step, and what follows from it; of each kind only one is being done."""
        self.run_worker(self._carry_out(step), group=_group(step), exclusive=True)

    async def _carry_out(self, step: Step) -> None:
        await asyncio.to_thread(_fetch)
        from livecheck.console.workflows import carry_out

        following = await carry_out(self, step)
        if following is not None:
            self._go(following)

    def action_begin(self, task: str) -> None:
        """A task by its name, as keys of every screen name it."""
        from livecheck.console.events import Task, TaskWanted

        self.happened(TaskWanted(Task(task)))

    def action_redraw(self) -> None:
        """Draw everything again, over whatever the kernel wrote on the screen."""
        self.refresh(layout=True, repaint=True)

    def action_aloud(self) -> None:
        """Every screen read out from now on, or silence."""
        if self._aloud is not None:
            self._aloud.say(())
            self._aloud = None
            return
        from livecheck.console.aloud import Aloud
        from livecheck.live_host import LiveHost
        from livecheck.voice.speech import Loudspeaker

        def silent(why: str) -> None:
            self.call_from_thread(self.say_alarm, "voice", why)

        self._aloud = Aloud(Loudspeaker(LiveHost()), silent)
        self.came_up(self.screen)

    def came_up(self, screen: Screen[Any]) -> None:
        """Read it out, once it is drawn, where that is wanted."""
        if self._aloud is not None:
            from livecheck.console.aloud import read_out

            aloud = self._aloud
            self.call_after_refresh(lambda: aloud.say(tuple(read_out(screen))))

    def under_bar(self, words: str) -> None:
        """Read that row out instead."""
        if self._aloud is not None:
            self._aloud.say((words,))

    @work(group="watch")
    async def watch_shop(self) -> None:
        """Notice a drive that is gone, one that is back, and whether the stick may be pulled.

        A look that takes long, as on a loaded machine, is not given up for the next one.
        """
        if self._watching:
            return
        self._watching = True
        try:
            await self._watch()
        finally:
            self._watching = False

    async def _watch(self) -> None:
        self.say_stick(await asyncio.to_thread(told, STICK_STATE))
        if self._may_speak:
            await self._see_who_looks()
        if self.shop_watch is None:
            return
        trouble = await asyncio.to_thread(self.shop_watch.trouble)
        waits = await asyncio.to_thread(self.shop_watch.waits, tuple(self.kept))
        # Tried once: what a drive refuses, it is not asked again every three seconds.
        if waits != self._tried and not self.bringing:
            self._tried = waits
            if waits:
                self.bring_kept()
        if trouble is not None:
            trouble = text("alarm.lost", says=trouble)
        self.say_alarm("shop", trouble)

    async def _see_who_looks(self) -> None:
        from livecheck.console import blind_start

        screens = await asyncio.to_thread(blind_start.screens)
        seconds = time.monotonic() - self._since
        why = blind_start.why(seconds, self.looked, screens)
        if why is not None and self._may_speak:
            self.speaks = why
            self.exit(0)

    @work(group="bring")
    async def bring_kept(self) -> None:
        """Save what is kept in memory."""
        from livecheck.console.workflows.kept import bring_kept

        following = await bring_kept(self)
        if following is not None:
            self._go(following)


def _group(step: Step) -> str:
    return f"{type(step).__name__} {getattr(step, 'task', '')}"


def _fetch() -> None:
    if LATER[-1] in sys.modules:
        return
    for name in LATER:
        importlib.import_module(name)
    # What lives until the end need not be gone through again by every collection.
    gc.freeze()
