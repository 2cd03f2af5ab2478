"""The shelf: every case on the shop drive, and finding one."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input

from livecheck import wording
from livecheck.casefile.shop import CaseEntry
from livecheck.console.frame import BenchScreen, Lines, Row


class FindField(Input):
    """Words to look for."""

    HELP = """Any words of the line: ticket, machine, complaint, date. Lines that hold all
of them are shown. Down or Enter goes to the list."""


class CaseList(Lines):
    """One line a case."""

    HELP = """Case, ticket, machine, complaint, state; the newest on top. Enter opens the
verdict."""


class CasesScreen(BenchScreen[None]):
    """One line a case; Enter opens it."""

    WHERE = "cases"
    HELP = """# Cases
Every case on the shop drive. Enter opens the verdict of the one under the bar, F finds
by words, Esc goes back.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Open"),
        Binding("f,slash", "find", "Find"),
        Binding("escape", "back", "Back"),
    ]

    def __init__(self, entries: list[CaseEntry]) -> None:
        super().__init__()
        self._entries = sorted(entries, key=lambda e: e.path, reverse=True)
        self._lines = [_line(entry) for entry in self._entries]

    def body(self) -> ComposeResult:
        """What to find, the cases."""
        field = FindField(id="find", max_length=60, placeholder="words to find")
        field.display = False
        yield field
        yield CaseList(self._rows(""), "cases")

    def on_mount(self) -> None:
        """The bar on the newest."""
        self.query_one(CaseList).focus()
        self.query_one(CaseList).highlighted = 0

    def _rows(self, words: str) -> list[Row]:
        wanted = words.casefold().split()
        shown = [
            Row(line, str(i))
            for i, line in enumerate(self._lines)
            if all(word in line.casefold() for word in wanted)
        ]
        none = "No case holds these words." if self._lines else "No cases here yet."
        return shown or [Row(none)]

    def action_find(self) -> None:
        """Ask for words."""
        field = self.query_one(FindField)
        field.display = True
        field.focus()

    def action_back(self) -> None:
        """All cases again, else the screen before."""
        field = self.query_one(FindField)
        if field.display:
            field.value = ""
            field.display = False
            self.query_one(CaseList).focus()
        else:
            self.app.pop_screen()

    @on(Input.Changed)
    def _narrow(self, event: Input.Changed) -> None:
        lines = self.query_one(CaseList)
        lines.show(self._rows(event.value))
        lines.highlighted = 0

    @on(Input.Submitted)
    def _to_list(self) -> None:
        self.query_one(CaseList).focus()

    @on(Lines.OptionSelected)
    def _open(self, event: Lines.OptionSelected) -> None:
        if event.option.id is not None:
            path = Path(self._entries[int(event.option.id)].path)
            self.console.open_case(path)


def _line(entry: CaseEntry) -> str:
    case = entry.case
    if case is None:
        return wording.clean(f"{Path(entry.path).name}: {entry.trouble or ''}")
    machine = case.machine.product or case.machine.board_product or "machine without a name"
    state = f"closed: {case.outcome or 'no outcome noted'}" if case.closed else "open"
    ticket = f"ticket {case.ticket}" if case.ticket else "no ticket"
    words = (case.id, ticket, machine, wording.title(case.complaint), state)
    return wording.clean(" | ".join(words))
