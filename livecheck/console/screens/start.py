"""The first screen: two questions, and what is known of this machine already."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer, Input, Label, OptionList, Static
from textual.widgets.option_list import Option

from livecheck import wording
from livecheck.console.frame import TitleLine
from livecheck.console.worker import Looked
from livecheck.records import Complaint


class StartScreen(Screen[None]):
    """Ticket and complaint."""

    HELP = """# Start
Type the shop's own ticket number, or leave it empty. Choose what the customer
complains of: it decides what is tested and what is suspected first.
**Enter** moves on and starts, **Tab** moves between the fields.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f5", "start", "Start the run"),
        Binding("f2", "app.cases", "Cases"),
        Binding("f10", "app.quit", "Leave"),
    ]

    class Wanted(Message):
        """The technician wants a run."""

        def __init__(self, ticket: str | None, complaint: Complaint) -> None:
            super().__init__()
            self.ticket = ticket
            self.complaint = complaint

    def compose(self) -> ComposeResult:
        yield TitleLine("start")
        with VerticalScroll(id="start"):
            yield Static("Looking at the machine …", id="machine")
            yield Label("Ticket (may stay empty)")
            yield Input(id="ticket", max_length=40)
            yield Label("What is wrong with it?")
            with Vertical(id="complaints"):
                yield OptionList(
                    *(Option(wording.title(c), id=c.value) for c in Complaint), id="complaint"
                )
            yield Static("", id="before")
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Begin with the ticket."""
        choices = self.query_one(OptionList)
        choices.highlighted = list(Complaint).index(Complaint.INTAKE)
        self.query_one(Input).focus()

    def show(self, looked: Looked) -> None:
        """What stands on the bench, and what changed since the last run of its case."""
        machine = looked.machine
        names = [machine.vendor, machine.product or machine.board_product]
        name = wording.clean(" ".join(n for n in names if n)) or "a machine that gives no name"
        rights = "" if looked.as_root else "\nNot root: some parts cannot be judged."
        self.query_one("#machine", Static).update(
            f"{name}: {looked.parts} parts, {looked.devices} devices seen.\n"
            f"Cases are kept in {wording.clean(looked.shop)}{rights}"
        )
        if looked.case is None:
            return
        if looked.ticket:
            self.query_one(Input).value = looked.ticket
        lines = [f"Known here: case {wording.clean(looked.case)}, runs so far: {looked.runs}."]
        lines += [f"- {wording.clean(change)}" for change in looked.changes]
        if not looked.changes:
            lines.append("- No part changed since the last run.")
        self.query_one("#before", Static).update("\n".join(lines))

    def trouble(self, says: str) -> None:
        """Say in place what went wrong."""
        self.query_one("#machine", Static).update(f"TROUBLE: {wording.clean(says)}")

    @on(Input.Submitted)
    def _to_complaint(self) -> None:
        self.query_one(OptionList).focus()

    @on(OptionList.OptionSelected)
    def _chosen(self) -> None:
        self.action_start()

    def action_start(self) -> None:
        """Start the run as the fields stand."""
        choices = self.query_one(OptionList)
        index = choices.highlighted or 0
        ticket = self.query_one(Input).value.strip() or None
        self.post_message(self.Wanted(ticket, list(Complaint)[index]))
