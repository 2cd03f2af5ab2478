"""The case index: every case on the shop drive, and finding one."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input

from livecheck.console import case_files
from livecheck.console.case_files import FoundCases
from livecheck.console.events import CaseChosen
from livecheck.console.frame import BenchScreen
from livecheck.console.text_field import TextField
from livecheck.console.text_list import TextList, TextRow
from livecheck.console.views import Notice


class FindField(TextField):
    """Words to look for."""

    HELP = """Any words of the line: ticket, machine, complaint, date. TextList that hold all
of them are shown. Down or Enter goes to the list."""


class CaseList(TextList):
    """One line a case."""

    HELP = """Case, ticket, machine, complaint, state; the newest on top. Enter opens the
verdict."""


class CasesScreen(BenchScreen[None]):
    """One line a case; Enter opens it."""

    WHERE = "cases"
    HELP = """# Cases
The cases on the shop drive, the latest first. Enter opens the verdict of the one under
the bar, F finds by words, B tells what failed before by board model, Esc goes back.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Open"),
        Binding("f,slash", "find", "Find"),
        Binding("b", "boards", "What failed before"),
        Binding("escape", "back", "Back"),
    ]

    def __init__(self, shop: Path | None, found: FoundCases) -> None:
        super().__init__()
        self._shop = shop
        self._found = found

    def body(self) -> ComposeResult:
        """What to find, the cases."""
        field = FindField(id="find", max_length=60, placeholder="words to find")
        field.display = False
        yield field
        yield CaseList(self._rows(), "cases")

    def on_mount(self) -> None:
        """The bar on the latest."""
        self.query_one(CaseList).focus()
        self.query_one(CaseList).highlighted = 0

    def _rows(self) -> list[TextRow]:
        found = self._found
        rows = [TextRow(line, str(i)) for i, (_, line) in enumerate(found.cases)]
        more = found.of - len(rows)
        if more > 0:
            rows.append(TextRow(f"… and {more} more: F finds them by their words."))
        return rows or [TextRow("No case to show.")]

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

    def action_boards(self) -> None:
        """What failed before, by board model."""
        none = ("No case holds a board model yet.",)
        self.say(Notice("what failed before", self._found.boards or none))

    @on(Input.Changed)
    def _changed(self, event: Input.Changed) -> None:
        self._narrow(event.value)

    @work(exclusive=True, group="find")
    async def _narrow(self, words: str) -> None:
        found = await asyncio.to_thread(
            case_files.list_cases, self._shop, words, lambda done, of: None
        )
        if isinstance(found, str):
            return
        self._found = found
        lines = self.query_one(CaseList)
        lines.show(self._rows())
        lines.highlighted = 0

    @on(Input.Submitted)
    def _to_list(self) -> None:
        self.query_one(CaseList).focus()

    @on(TextList.OptionSelected)
    def _open(self, event: TextList.OptionSelected) -> None:
        if event.option.id is not None:
            self.say(CaseChosen(self._found.cases[int(event.option.id)][0]))
