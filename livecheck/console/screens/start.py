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
from livecheck.console.frame import BenchScreen
from livecheck.console.text_field import TextField
from livecheck.console.text_list import TextList, TextRow
from livecheck.records import Complaint

if TYPE_CHECKING:
    from livecheck.console.replies import Looked

COMPLAINTS: Final = tuple(Complaint)
LOOKING: Final = "Looking at the machine …"

NO_DRIVE: Final = (
    "\nNO SHOP DRIVE: what is saved is lost when this machine is switched off. Start again with "
    "one livecheck stick plugged in, or plug in a USB drive that is named SHOPDRIVE."
)


class TicketField(TextField):
    """The ticket's number."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "app.focus_next", show=False)]

    HELP = """The shop's own number for this job, as it stands on the ticket. It finds the
case again when the machine cannot say who it is, or when its board was replaced.
It may stay empty. Enter, Esc or an arrow goes on to the complaint."""


class ComplaintList(TextList):
    """What the customer complains of."""

    HELP = """What the customer says is wrong. It decides what is tested and what is
suspected first. Enter starts; Up from the first line goes to the ticket."""

    def action_cursor_up(self) -> None:
        """From the first line on to the ticket."""
        if self.highlighted == 0:
            self.screen.focus_previous()
        else:
            super().action_cursor_up()


class StartScreen(BenchScreen[None]):
    """Ticket and complaint."""

    WHERE = "start"
    HELP = """# Start
Choose what the customer complains of: it decides what is tested and what is suspected
first. Enter starts. T goes to the field for the shop's own ticket number, which may stay
empty; Enter or an arrow goes back to the list. A machine, or a ticket, that was here
before goes on with its case by itself.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f5,s", "start", "Start the run"),
        Binding("f3,t", "ticket", "Ticket"),
        Binding("f2,c", "app.begin('cases')", "Cases"),
        Binding("i", "app.begin('intake')", "Intake sheet"),
        Binding("f6,o", "app.begin('options')", "Options"),
        Binding("f7,m", "app.begin('more')", "More tests"),
        Binding("f9,p", "app.begin('switch-off')", "Switch off"),
        Binding("f10,q", "app.quit", "Leave"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._asked: str | None = None
        """The ticket whose case was looked for last."""

    def where(self) -> str:
        """With the release: what is asked first when something is wrong with it."""
        return f"{self.WHERE} : {release.told()}"

    def body(self) -> ComposeResult:
        """The machine, and two fields."""
        with VerticalScroll(id="start", can_focus=False):
            yield Static(LOOKING, id="machine", markup=False)
            yield Static("", id="stick", markup=False)
            yield Static("", id="told", markup=False)
            yield Label("Ticket (may stay empty)")
            yield TicketField(id="ticket", max_length=40)
            yield Label("What is wrong with it?")
            yield ComplaintList(
                [TextRow(wording.title(c), c.value) for c in COMPLAINTS], "complaint"
            )
            yield Static("", id="options", markup=False)

    def on_mount(self) -> None:
        """Begin with the complaint."""
        for line in ("stick", "told", "options"):
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

    def show(self, looked: Looked) -> None:
        """What stands on the bench."""
        machine = looked.machine
        told = machine.named if machine.product else machine.board_named or machine.named
        name = wording.clean(told) or "a machine that gives no name"
        rights = "" if looked.as_root else "\nNot root: some parts cannot be judged."
        rights += "" if looked.lasts else NO_DRIVE
        self._machine(
            f"{name}: {looked.parts} parts, {looked.devices} devices seen.\n"
            f"Cases are kept in {wording.clean(looked.shop)}{rights}"
        )

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
        self._machine(LOOKING)

    def trouble(self, says: str) -> None:
        """Say in place what went wrong."""
        self._machine(f"TROUBLE: {wording.clean(says)}")

    def _machine(self, says: str) -> None:
        # An answer may come when the console is being left, and the line is gone already.
        for line in self.query("#machine").results(Static):
            line.update(says)

    def options(self, says: str) -> None:
        """What differs from an ordinary run."""
        self._line("options", wording.clean(says))

    def intake(self, lines: int, cautions: Sequence[str] = ()) -> None:
        """How much of the intake sheet is filled, and what to mind because of it."""
        filled = f"Intake sheet: {lines} {'line' if lines == 1 else 'lines'}"
        heeded = [f"CAUTION: {wording.clean(one)}" for one in cautions]
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
