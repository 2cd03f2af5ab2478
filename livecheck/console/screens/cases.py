"""The shelf: every case on the shop drive."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.screen import Screen
from textual.widgets import DataTable, Footer, Static

from livecheck import wording
from livecheck.casefile.shop import CaseEntry
from livecheck.console.frame import TitleLine


class CasesScreen(Screen[None]):
    """One row a case; Enter opens it."""

    HELP = """# Cases
Every case on the shop drive. **Enter** opens the verdict of the one under the
bar, **Escape** goes back.
"""
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "app.pop_screen", "Back")]

    class Opened(Message):
        """The technician wants to see a case."""

        def __init__(self, path: Path) -> None:
            super().__init__()
            self.path = path

    def __init__(self, entries: list[CaseEntry]) -> None:
        super().__init__()
        self._entries = entries

    def compose(self) -> ComposeResult:
        yield TitleLine("cases")
        if self._entries:
            yield DataTable[str](id="cases", cursor_type="row")
        else:
            yield Static("No cases here yet.")
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Fill the table, the newest case first."""
        if not self._entries:
            return
        table = self.query_one(DataTable)
        table.add_columns("Case", "Ticket", "Machine", "Complaint", "State")
        for entry in sorted(self._entries, key=lambda e: e.path, reverse=True):
            table.add_row(*_row(entry), key=entry.path)
        table.focus()

    @on(DataTable.RowSelected)
    def _open(self, event: DataTable.RowSelected) -> None:
        if event.row_key.value is not None:
            self.post_message(self.Opened(Path(event.row_key.value)))


def _row(entry: CaseEntry) -> tuple[str, ...]:
    case = entry.case
    if case is None:
        return (
            wording.clean(Path(entry.path).name),
            "",
            "",
            "",
            wording.clean(entry.trouble or ""),
        )
    machine = case.machine.product or case.machine.board_product or ""
    state = f"closed: {case.outcome or ''}" if case.closed else "open"
    words = (case.id, case.ticket or "", machine, wording.title(case.complaint), state)
    return tuple(wording.clean(word) for word in words)
