"""The app: which screen is shown, and the process that does the work.

Only what the first screen needs is imported with this module; the rest is fetched
in a thread while the technician reads, which also keeps it at hand when the stick is
pulled later.
"""

from __future__ import annotations

import asyncio
import gc
import importlib
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

from textual import on, work
from textual.app import App
from textual.binding import Binding, BindingType

from livecheck import wording
from livecheck.console import theme
from livecheck.console.frame import Alarm, BenchScreen
from livecheck.console.link import Link
from livecheck.console.screens.start import StartScreen
from livecheck.diagnosis.worksheet_table import WORKSHEETS
from livecheck.records import Complaint

if TYPE_CHECKING:
    from livecheck.casefile.presence import Mount
    from livecheck.console.claims import Case
    from livecheck.console.replies import Known, Looked, Proposed, Reply
    from livecheck.console.requests import Job, RunOrder
    from livecheck.console.screens.options import Options
    from livecheck.console.screens.resume import Told
    from livecheck.diagnosis.worksheet_table import Filled
    from livecheck.flex import FlexResult
    from livecheck.plan import Plan

WATCHED_EVERY_SECONDS: Final = 3.0
"""The shop drive; a pulled stick is told within this time."""
STICK_GONE: Final = (
    "The livecheck stick does not answer ({error}). Plug it in again and try once more; "
    "if that does not help, switch the machine off and start it anew."
)
SCREENS: Final = (
    *("resume", "running", "verdict", "evidence", "tree", "step", "big", "cases", "help", "pick"),
    *("options", "kept", "worksheet", "meters", "flex", "guided", "self_test", "parts"),
)
LATER: Final = (
    "livecheck.console.requests",
    "livecheck.console.replies",
    "livecheck.casefile.presence",
    *(f"livecheck.console.screens.{name}" for name in SCREENS),
    "livecheck.console.more",
    "livecheck.console.opened",
    "livecheck.guided.live",
    "livecheck.report.faults",
)
"""Fetched while the first screen is read."""


class Console(App[int]):
    """livecheck on a screen, by keyboard alone."""

    CSS_PATH = "app.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+l", "redraw", "Redraw", show=False),
    ]

    def __init__(self, shop: Path | None = None, source: Path | None = None) -> None:
        super().__init__()
        self._shop = shop
        self.source = source
        self._link = Link()
        self._start = StartScreen()
        self._folder: Path | None = None
        self._mount: Mount | None = None
        self._alarms: dict[str, str] = {}
        self.looked: Looked | None = None
        self.options_set: Options | None = None

    def on_mount(self) -> None:
        """Show the first screen and look at the machine meanwhile."""
        theme.use_console_glyphs()
        self.register_theme(theme.BENCH)
        self.theme = theme.BENCH.name
        self.push_screen(self._start)
        self.call_after_refresh(self.look)
        self.set_interval(WATCHED_EVERY_SECONDS, self.watch_shop)

    async def on_unmount(self) -> None:
        """No worker outlives the console."""
        await self._link.end()

    # --- Looking at the machine

    @work(exclusive=True, group="look")
    async def look(
        self, ticket: str | None = None, complaint: Complaint = Complaint.INTAKE
    ) -> None:
        """Ask the worker which machine and case this is."""
        await asyncio.to_thread(_fetch)
        from livecheck.console.replies import Looked, Proposed, Trouble
        from livecheck.console.requests import SurveyMachine
        from livecheck.plan import Plan

        async for reply in self._ask(SurveyMachine(Plan(ticket=ticket, complaint=complaint))):
            if isinstance(reply, Looked):
                await self._seen(reply, ticket)
            elif isinstance(reply, Proposed):
                self._proposed(reply)
            elif isinstance(reply, Trouble):
                self._start.trouble(reply.says)

    async def _seen(self, looked: Looked, ticket: str | None) -> None:
        from livecheck.casefile.presence import mount_of
        from livecheck.console.screens.resume import ResumeScreen
        from livecheck.live_host import LiveHost

        self.looked = looked
        self._folder = Path(looked.shop)
        self._mount = await asyncio.to_thread(mount_of, LiveHost(), self._folder)
        self._start.show(looked)
        known = looked.known
        typing = self._start.ticket not in (None, ticket)
        if known is not None and self.screen is self._start and not typing:
            await self.push_screen(
                ResumeScreen(looked, known), lambda told: self._told(known, told)
            )

    def _proposed(self, said: Proposed) -> None:
        from livecheck.console.screens.resume import ResumeScreen

        for screen in self.screen_stack:
            if isinstance(screen, ResumeScreen):
                screen.proposed(said)

    def _told(self, known: Known, told: Told | None) -> None:
        from livecheck.console.screens.resume import OPEN, OTHER, SHEET

        if told is None or told.leave == OTHER:
            self._start.blank()
        elif told.leave == OPEN and self._folder is not None:
            self.open_case(self._folder / known.case)
        elif told.leave == SHEET:
            self._measure(self._plan_of(known, told))
        else:
            self._ask_first(self._plan_of(known, told))

    def _plan_of(self, known: Known, told: Told) -> Plan:
        import msgspec

        plan = self._options_plan(known.complaint, known.ticket)
        return msgspec.structs.replace(
            plan,
            case=known.case,
            known_good=told.known_good,
            reseated=told.reseated,
            elsewhere=told.elsewhere,
            answers=told.answers(),
            cannot=told.cannot,
            can=tuple(one for one in known.cannot if one not in told.cannot),
        )

    def _options_plan(self, complaint: Complaint, ticket: str | None) -> Plan:
        from livecheck.plan import Plan

        options = self.options_set
        if options is None:
            return Plan(complaint=complaint, ticket=ticket)
        return Plan(complaint=complaint, ticket=ticket, depth=options.depth, probes=options.probes)

    @on(StartScreen.Ticket)
    def _ticket(self, wish: StartScreen.Ticket) -> None:
        self.look(wish.ticket, wish.complaint)

    # --- Running

    @on(StartScreen.Wanted)
    async def _wanted(self, wish: StartScreen.Wanted) -> None:
        plan = self._options_plan(wish.complaint, wish.ticket)
        if wish.complaint in WORKSHEETS:
            self._measure(plan)
        else:
            self._ask_first(plan)

    def _ask_first(self, plan: Plan) -> None:
        """What no sensor tells and the run needs, then the run."""
        from livecheck.console import fitted

        def ticked(places: tuple[str, ...] | None) -> None:
            self.begin(fitted.told(plan, places))

        screen = fitted.question(self.looked, plan)
        if screen is None:
            self.begin(plan)
        else:
            self.push_screen(screen, ticked)

    def _measure(self, plan: Plan) -> None:
        from livecheck import knowledge
        from livecheck.console.screens.worksheet import WorksheetScreen

        screen = WorksheetScreen(plan.complaint, knowledge.worksheet(), knowledge.load())
        self.push_screen(screen, lambda filled: self._measured(plan, filled))

    def _measured(self, plan: Plan, filled: Filled | None) -> None:
        if filled is not None:
            self._save_worksheet(plan, filled)

    @work(exclusive=True, group="run")
    async def _save_worksheet(self, plan: Plan, filled: Filled) -> None:
        from livecheck.casefile import ShopError, find_shop
        from livecheck.judgement import shop_tables
        from livecheck.live_host import LiveHost
        from livecheck.saving import Unsaved, keep_elsewhere, save, worksheet_run

        def saved() -> Path:
            live = LiveHost()
            shop = find_shop(live, self._shop)
            run = worksheet_run(filled, plan, live)
            return Path(save(run, plan, shop_tables(shop.root)[0], shop).case_folder)

        try:
            folder = await asyncio.to_thread(saved)
        except Unsaved as error:
            kept = await asyncio.to_thread(keep_elsewhere, error.run)
            self._fail(f"{error}. The run was kept in {kept}.", str(kept), plan)
        except ShopError as error:
            self._fail(str(error))
        else:
            await self._show_case(folder)

    @work(exclusive=True, group="run")
    async def begin(self, plan: Plan) -> None:
        """One run: the running screen while it lasts, then its verdict."""
        await asyncio.to_thread(_fetch)
        from livecheck.console.replies import Happened
        from livecheck.console.requests import TakeRun
        from livecheck.console.screens.running import RunningScreen
        from livecheck.plan import planned_probes

        known = self.looked.known if self.looked is not None else None
        lasted = known.lasted if known is not None and known.lasted_depth == plan.depth else {}
        screen = RunningScreen(planned_probes(plan), lasted, plan.depth)
        await self._go_home()
        await self.push_screen(screen)
        async for reply in self._ask(TakeRun(plan)):
            if isinstance(reply, Happened):
                screen.happened(reply.event)
            elif await self._ended(reply, plan):
                return
        self._fail("The run's process ended without a result; start it again.")

    @work(exclusive=True, group="run")
    async def save_again(self, kept: str, plan: Plan) -> None:
        """Try once more to save a run that was kept elsewhere."""
        from livecheck.console.requests import SaveKept

        async for reply in self._ask(SaveKept(plan, kept)):
            if await self._ended(reply, plan):
                return

    async def _ended(self, reply: Reply, plan: Plan) -> bool:
        from livecheck.console.replies import Finished, Trouble

        if isinstance(reply, Finished):
            await self._show_case(Path(reply.case_folder))
        elif isinstance(reply, Trouble):
            self._fail(reply.says, reply.kept, plan)
        return isinstance(reply, Finished | Trouble)

    def order(self, word: RunOrder) -> None:
        """Tell the running worker something."""
        self._link.order(word)

    async def _ask(self, job: Job) -> AsyncIterator[Reply]:
        from livecheck.console.replies import Trouble
        from livecheck.console.requests import Request, SaveKept

        shop = str(self._shop) if self._shop else None
        source = str(self.source) if self.source else None
        try:
            async for reply in self._link.ask(Request(job=job, shop=shop, source=source)):
                yield reply
        except OSError as error:
            kept = job.file if isinstance(job, SaveKept) else None
            yield Trouble(says=STICK_GONE.format(error=error.strerror or error), kept=kept)

    # --- Cases

    @work(exclusive=True, group="case")
    async def open_case(self, path: Path) -> None:
        """The verdict of a case on the shelf."""
        await self._show_case(path)

    async def _show_case(self, path: Path) -> None:
        from livecheck.console import opened
        from livecheck.console.screens.verdict import VerdictScreen

        case = await asyncio.to_thread(opened.case, path)
        if isinstance(case, str):
            self._fail(case)
            return
        await self._go_home()
        await self.push_screen(VerdictScreen(case))

    @work(exclusive=True, group="case")
    async def rule_out(self, case: Case, step: str) -> None:
        """Keep in the case that a step cannot be done here, and judge anew."""
        from livecheck.console import opened

        path = Path(case.report).parent
        trouble = await asyncio.to_thread(opened.rule_out, path, step)
        if trouble is not None:
            self.say_alarm("case", trouble)
            return
        await self._show_case(path)

    @work(exclusive=True, group="case")
    async def action_cases(self) -> None:
        """The shelf of cases."""
        from livecheck.console import opened
        from livecheck.console.screens.cases import CasesScreen

        def progress(done: int, of: int) -> None:
            self.call_from_thread(self.say_alarm, "shelf", f"Reading cases: {done} of {of}")

        shelf = await asyncio.to_thread(opened.shelf, self._shop, "", progress)
        self.say_alarm("shelf", None)
        if isinstance(shelf, str):
            self._fail(shelf)
            return
        await self.push_screen(CasesScreen(self._shop, shelf))

    @property
    def ticket(self) -> str | None:
        """As typed on the first screen."""
        return self._start.ticket

    @property
    def complaint(self) -> Complaint:
        """As chosen on the first screen."""
        return self._start.complaint

    @work(exclusive=True, group="run")
    async def save_asked(self, plan: Plan, flexed: FlexResult | None = None) -> None:
        """A run of what was asked for by name: guided checks, a flex test."""
        from livecheck.console.requests import SaveGiven

        self.say_alarm("saving", "Saving what was found …")
        async for reply in self._ask(SaveGiven(plan, flexed)):
            if await self._ended(reply, plan):
                break
        self.say_alarm("saving", None)

    @work(exclusive=True, group="case")
    async def record_outcome(self, case: Case, component: str, proved: bool) -> None:
        """Keep what a repair proved."""
        from livecheck.console import more

        trouble = await asyncio.to_thread(more.record, case, component, proved)
        self.say_alarm("case", trouble)
        if trouble is None:
            await self._show_case(Path(case.report).parent)

    def action_more(self) -> None:
        """What can be done besides a run."""
        from livecheck.console import more

        more.menu(self, getattr(self.screen, "case", None))

    @work(exclusive=True, group="more")
    async def action_meters(self) -> None:
        """Live meters; they only read."""
        from livecheck.console import more

        await more.meters(self)

    # --- Moving about

    async def _go_home(self) -> None:
        while self.screen is not self._start and len(self.screen_stack) > 1:
            await self.pop_screen()

    async def action_start_over(self) -> None:
        """Back to the first screen, for another run."""
        await self._go_home()
        self.look(self._start.ticket)

    def action_options(self) -> None:
        """What differs from an ordinary run."""
        from livecheck.console.screens.options import Options, OptionsScreen

        def chosen(options: Options | None) -> None:
            if options is not None:
                self.options_set = options
                self._start.options(options.says())

        self.push_screen(OptionsScreen(self.options_set or Options()), chosen)

    def action_power_off(self) -> None:
        """Switch the machine off, after asking."""
        from livecheck.console.screens.pick import ConfirmScreen

        def answered(yes: bool | None) -> None:
            if yes:
                self._switch_off()

        asks = "Switch this machine off now? What was saved stands; the next boot goes on."
        self.push_screen(
            ConfirmScreen("switch off", f"{asks}\nY switches off, N goes back."), answered
        )

    @work(exclusive=True, group="off")
    async def _switch_off(self) -> None:
        from livecheck.console.replies import Trouble
        from livecheck.console.requests import SwitchOff

        async for reply in self._ask(SwitchOff()):
            if isinstance(reply, Trouble):
                self.say_alarm("off", reply.says)

    def action_redraw(self) -> None:
        """Draw everything again, over whatever the kernel wrote on the screen."""
        self.refresh(layout=True, repaint=True)

    @work
    async def _fail(self, says: str, kept: str | None = None, plan: Plan | None = None) -> None:
        """Back to the start, which keeps the message in sight until the next try."""
        await self._go_home()
        self._start.trouble(says)
        if kept is not None and plan is not None:
            from livecheck.console.screens.kept import KeptScreen

            def answered(again: bool | None) -> None:
                if again:
                    self.save_again(kept, plan)

            await self.push_screen(KeptScreen(says, kept), answered)

    # --- The shop drive

    @work(exclusive=True, group="watch")
    async def watch_shop(self) -> None:
        """Notice a drive that is gone, and one that is back."""
        folder, mount = self._folder, self._mount
        if folder is None:
            return
        from livecheck.console import opened

        trouble = await asyncio.to_thread(opened.shop_trouble, folder, mount)
        if trouble is not None:
            trouble = (
                f"SHOP DRIVE LOST: {trouble}. Plug it in again. A run goes on meanwhile; "
                "what cannot be saved is kept in memory, and you are told where."
            )
        self.say_alarm("shop", trouble)

    @property
    def alarm(self) -> str | None:
        """What every screen shows until it is over; None while all is well."""
        return "\n".join(self._alarms.values()) or None

    def say_alarm(self, about: str, says: str | None) -> None:
        """Show what is wrong with one thing, or that it is over (None)."""
        if says == self._alarms.get(about):
            return
        self._alarms.pop(about, None)
        if says is not None:
            self._alarms[about] = wording.clean(says)
        for screen in self.screen_stack:
            if isinstance(screen, BenchScreen):
                for alarm in screen.query(Alarm):
                    alarm.say(self.alarm)


def _fetch() -> None:
    for name in LATER:
        importlib.import_module(name)
    # What lives until the end need not be gone through again by every collection.
    gc.freeze()
