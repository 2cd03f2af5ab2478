"""The first screen: two questions, and what is known of this machine already."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar, Final

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Input, Label, Static

from livecheck import release, wording
from livecheck.console.frame import BenchScreen, english_told
from livecheck.console.text_field import TextField
from livecheck.console.text_list import TextList, TextRow
from livecheck.records import Complaint

if TYPE_CHECKING:
    from livecheck.console.replies import Looked

COMPLAINTS: Final = tuple(Complaint)
LINES: Final = ("stick", "told", "options")
"""Lines that are there now and then."""


class TicketField(TextField):
    """The ticket's number."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "app.focus_next", show=False)]

    HELP = "ticket-field"


class ComplaintList(TextList):
    """What the customer complains of."""

    HELP = "complaint-list"

    def action_cursor_up(self) -> None:
        """From the first line on to the ticket."""
        if self.highlighted == 0:
            self.screen.focus_previous()
        else:
            super().action_cursor_up()


class StartScreen(BenchScreen[None]):
    """Ticket and complaint."""

    WHERE = "start"
    HELP = "start"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f5,s", "start", "start-the-run"),
        Binding("f3,t", "ticket", "ticket"),
        Binding("f2,c", "app.begin('cases')", "cases"),
        Binding("i", "app.begin('intake')", "intake-sheet"),
        Binding("f6,o", "app.begin('options')", "options"),
        Binding("f7,m", "app.begin('more')", "more-tests"),
        Binding("f9,p", "app.begin('switch-off')", "switch-off"),
        Binding("f10,q", "app.quit", "leave"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._asked: str | None = None
        """The ticket whose case was looked for last."""

    def where(self) -> str:
        """With the release: what is asked first when something is wrong with it."""
        return f"{super().where()} : {release.told()}"

    def body(self) -> ComposeResult:
        """The machine, and two fields."""
        with VerticalScroll(id="start", can_focus=False):
            yield Static(wording.text("start.looking"), id="machine", markup=False)
            yield Static("", id="stick", markup=False)
            yield Static("", id="told", markup=False)
            yield Label(wording.text("start.ticket"))
            yield TicketField(id="ticket", max_length=40)
            yield Label(wording.text("start.complaint"))
            yield ComplaintList(
                [TextRow(wording.title(c), c.value) for c in COMPLAINTS], "complaint"
            )
            yield Static("", id="options", markup=False)

    def on_mount(self) -> None:
        """Begin with the complaint."""
        for line in LINES:
            self._line(line, "")
        self.blank()

    @property
    def ticket(self) -> str | None:
        """As typed so far."""
        return self.query_one(TicketField).value.strip() or None

    @property
    def complaint(self) -> Complaint:
        """As chosen so far."""
        return COMPLAINTS[self.query_one(ComplaintList).highlighted or 0]

    async def reword(self) -> None:
        """All of it anew, in the language spoken by now; what was typed and chosen stays."""
        lines = {line: str(self.query_one(f"#{line}", Static).content) for line in LINES}
        ticket, row = self.query_one(TicketField).value, self.query_one(ComplaintList).highlighted
        typing = isinstance(self.focused, TicketField)
        await self.recompose()
        for line, says in lines.items():
            self._line(line, says)
        self.query_one(TicketField).value = ticket
        self.query_one(ComplaintList).highlighted = row
        self.query_one(TicketField if typing else ComplaintList).focus()

    def show(self, looked: Looked) -> None:
        """What stands on the bench."""
        machine = looked.machine
        told = machine.named if machine.product else machine.board_named or machine.named
        name = wording.clean(told) or wording.text("start.nameless")
        lines = [wording.text("start.seen", name=name, parts=looked.parts, devices=looked.devices),
                 wording.text("start.kept", where=wording.clean(looked.shop))]  # fmt: skip
        lines += [] if looked.as_root else [wording.text("start.not-root")]
        lines += [] if looked.lasts else [wording.text("start.no-drive")]
        self._machine("\n".join(lines))

    def stick(self, says: str) -> None:
        """Whether the stick may be pulled."""
        self._line("stick", wording.clean(says))

    def _line(self, where: str, says: str) -> None:
        """A line that takes no room while it is empty: all has to fit into 25 of them."""
        line = self.query_one(f"#{where}", Static)
        line.update(says)
        line.display = bool(says)

    def looking(self) -> None:
        """The machine is looked at before the run that is wanted."""
        self._machine(wording.text("start.looking"))

    def trouble(self, says: str) -> None:
        """Say in place what went wrong."""
        self._machine(wording.text("start.trouble", says=wording.clean(english_told(says))))

    def _machine(self, says: str) -> None:
        # An answer may come when the console is being left, and the line is gone already.
        for line in self.query("#machine").results(Static):
            line.update(says)

    def options(self, says: str) -> None:
        """What differs from an ordinary run."""
        self._line("options", wording.clean(says))

    def intake(self, lines: int, cautions: Sequence[str] = ()) -> None:
        """How much of the intake sheet is filled, and what to mind because of it."""
        filled = wording.count("start.intake", lines)
        heeded = [wording.text("console.caution", says=wording.clean(one)) for one in cautions]
        said = [filled, *heeded] if lines else heeded
        self._line("told", "\n".join(said))

    def blank(self) -> None:
        """Fields for another job: the last one's complaint is not this one's."""
        self.query_one(ComplaintList).highlighted = COMPLAINTS.index(Complaint.INTAKE)
        self.query_one(TicketField).value = ""
        self._asked = None
        self.query_one(ComplaintList).focus()

    @on(Input.Submitted)
    def _to_complaint(self) -> None:
        self.query_one(ComplaintList).focus()

    @on(Input.Blurred)
    def _typed(self) -> None:
        """The field was left, whichever way: the ticket may have a case already."""
        if self.is_current and self.ticket not in (None, self._asked):
            from livecheck.console.events import TicketTyped

            self._asked = self.ticket
            self.say(TicketTyped())

    def action_ticket(self) -> None:
        """Type the ticket."""
        self.query_one(TicketField).focus()

    @on(TextList.OptionSelected)
    def _chosen(self) -> None:
        self.action_start()

    def action_start(self) -> None:
        """Start the run as the fields stand."""
        from livecheck.console.events import RunWanted

        self.say(RunWanted())
