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
from livecheck.wording import text


class FindField(TextField):
    """Words to look for."""

    HELP = "find-field"


class CaseList(TextList):
    """One line a case."""

    HELP = "case-list"


class CasesScreen(BenchScreen[None]):
    """One line a case; Enter opens it."""

    WHERE = "cases"
    HELP = "cases"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "open"),
        Binding("f,slash", "find", "find"),
        Binding("b", "boards", "what-failed-before"),
        Binding("escape", "back", "back"),
    ]

    def __init__(self, shop: Path | None, found: FoundCases) -> None:
        super().__init__()
        self._shop = shop
        self._found = found

    def body(self) -> ComposeResult:
        """What to find, the cases."""
        field = FindField(id="find", max_length=60, placeholder=text("case-list.find"))
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
            rows.append(TextRow(text("case-list.more", n=more)))
        return rows or [TextRow(text("case-list.none"))]

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
        none = (text("case-list.no-board"),)
        self.say(Notice(text("where.what-failed-before"), self._found.boards or none))

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
