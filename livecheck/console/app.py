"""The app: which screen is shown, and the process that does the work."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import sys
from collections.abc import AsyncIterator
from pathlib import Path
from typing import ClassVar

import msgspec
from textual import on, work
from textual.app import App
from textual.binding import Binding, BindingType

from livecheck import knowledge, session
from livecheck.casefile import CaseFolder, ShopError, find_shop
from livecheck.console import theme
from livecheck.console.screens.cases import CasesScreen
from livecheck.console.screens.running import RunningScreen
from livecheck.console.screens.start import StartScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.console.screens.worksheet import WorksheetScreen
from livecheck.console.worker import Finished, Happened, Looked, Reply, Request, Trouble
from livecheck.diagnosis.worksheet import Filled
from livecheck.host import LiveHost
from livecheck.records import Complaint, DamagedRecord

_REPLIES = msgspec.json.Decoder[Reply](Reply)
_LINE_LIMIT = 64 << 20
"""Longest reply line in bytes; a reading with its details is far shorter."""


class Console(App[int]):
    """livecheck on a screen, by keyboard alone."""

    CSS_PATH = "app.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "toggle_help", "Help"),
        Binding("ctrl+l", "redraw", "Redraw", show=False),
    ]

    def __init__(self, shop: Path | None = None, source: Path | None = None) -> None:
        super().__init__()
        self._shop = shop
        self._source = source
        self._worker: asyncio.subprocess.Process | None = None
        self._start = StartScreen()
        self._plan = session.Plan()

    def on_mount(self) -> None:
        """Show the first screen and look at the machine meanwhile."""
        theme.use_console_glyphs()
        self.register_theme(theme.BENCH)
        self.theme = theme.BENCH.name
        self.push_screen(self._start)
        self.look()

    async def on_unmount(self) -> None:
        """No worker outlives the console."""
        self.action_stop()
        if self._worker is not None:
            await self._worker.wait()

    @work(exclusive=True, group="look")
    async def look(self) -> None:
        """Ask the worker which machine and case this is."""
        async for reply in self._ask(self._request("look", session.Plan())):
            if isinstance(reply, Looked):
                self._start.show(reply)
            elif isinstance(reply, Trouble):
                self._start.trouble(reply.says)

    @on(StartScreen.Wanted)
    async def _wanted(self, wish: StartScreen.Wanted) -> None:
        self._plan = session.Plan(complaint=wish.complaint, ticket=wish.ticket)
        if wish.complaint in (Complaint.NO_POWER, Complaint.NO_PICTURE):
            tables, sheet = knowledge.load(), knowledge.worksheet()
            await self.push_screen(WorksheetScreen(wish.complaint, sheet, tables))
        else:
            self.begin(self._plan)

    @on(WorksheetScreen.Done)
    async def _measured(self, wish: WorksheetScreen.Done) -> None:
        try:
            folder = await asyncio.to_thread(self._save_worksheet, wish.filled)
        except ShopError as error:
            self._fail(str(error))
            return
        await self._show_case(folder)

    def _save_worksheet(self, filled: Filled) -> Path:
        live = LiveHost()
        shop = find_shop(live, self._shop)
        tables, _ = session.tables(shop.root)
        return Path(session.save_worksheet(filled, self._plan, tables, shop, live).case_folder)

    @work(exclusive=True, group="run")
    async def begin(self, plan: session.Plan) -> None:
        """One run: the running screen while it lasts, then its verdict."""
        screen = RunningScreen(session.chosen(plan))
        await self.push_screen(screen)
        ended = False
        async for reply in self._ask(self._request("run", plan)):
            if isinstance(reply, Happened):
                screen.happened(reply.event)
            elif isinstance(reply, Finished):
                ended = True
                await self._show_case(Path(reply.case_folder))
            elif isinstance(reply, Trouble):
                ended = True
                self._fail(reply.says)
        if not ended:
            self._fail("The run's process ended without a result; start it again (F5).")

    @on(CasesScreen.Opened)
    async def _opened(self, wish: CasesScreen.Opened) -> None:
        await self._show_case(wish.path)

    async def action_cases(self) -> None:
        """The shelf of cases."""
        try:
            shop = find_shop(LiveHost(), self._shop)
            entries = await asyncio.to_thread(shop.entries)
        except ShopError as error:
            self._fail(str(error))
            return
        await self.push_screen(CasesScreen(entries))

    def action_start_over(self) -> None:
        """Back to the first screen, for another run."""
        while self.screen is not self._start and len(self.screen_stack) > 1:
            self.pop_screen()
        self.look()

    def action_stop(self) -> None:
        """Ask the running worker to end; it saves what it has."""
        if self._worker is not None and self._worker.returncode is None:
            with contextlib.suppress(ProcessLookupError):
                self._worker.send_signal(signal.SIGTERM)

    def action_toggle_help(self) -> None:
        """Show or hide the help for the screen in front."""
        if self.screen.query("HelpPanel"):
            self.action_hide_help_panel()
        else:
            self.action_show_help_panel()

    def action_redraw(self) -> None:
        """Draw everything again, over whatever the kernel wrote on the screen."""
        self.refresh(layout=True, repaint=True)

    def get_key_display(self, binding: Binding) -> str:
        """Key names in letters every console font holds."""
        names = {"escape": "Esc", "enter": "Enter", "ctrl+l": "Ctrl+L"}
        return names.get(binding.key, binding.key.upper())

    def _request(self, kind: str, plan: session.Plan) -> Request:
        return Request(
            kind=kind,
            plan=plan,
            shop=str(self._shop) if self._shop else None,
            source=str(self._source) if self._source else None,
        )

    async def _ask(self, request: Request) -> AsyncIterator[Reply]:
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            *("-m", "livecheck.console.worker"),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.DEVNULL,
            limit=_LINE_LIMIT,
        )
        self._worker = process
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(msgspec.json.encode(request))
        process.stdin.close()
        try:
            async for line in process.stdout:
                yield _REPLIES.decode(line)
        finally:
            if process.returncode is None:
                with contextlib.suppress(ProcessLookupError):
                    process.terminate()
            await process.wait()

    async def _show_case(self, path: Path) -> None:
        try:
            screen = await asyncio.to_thread(_verdict_screen, path)
        except (OSError, DamagedRecord) as error:
            self._fail(f"{path}: {error}")
            return
        await self.switch_screen(screen)

    def _fail(self, says: str) -> None:
        """Back to the start, which keeps the message in sight until the next try."""
        while self.screen is not self._start and len(self.screen_stack) > 1:
            self.pop_screen()
        self._start.trouble(says)


def _verdict_screen(path: Path) -> VerdictScreen:
    folder = CaseFolder(path)
    tables, _ = session.tables(path.resolve().parent.parent)
    loaded = folder.load()
    location = session.locate_case(loaded, tables)
    return VerdictScreen(loaded, location, tables, str(folder.report_file))
