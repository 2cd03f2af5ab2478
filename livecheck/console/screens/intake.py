"""The intake sheet: a line for each question, all of which may stay empty."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar, Final

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from livecheck import wording
from livecheck.console.frame import BACK_KEYS, BenchScreen
from livecheck.console.screens.pick import ChooseScreen
from livecheck.console.screens.words import WordsScreen
from livecheck.console.text_list import TextList, TextRow
from livecheck.intake import NOTE, with_told
from livecheck.records import IntakeRow, ToldLine
from livecheck.worded import choice_title

OTHER: Final = "in-other-words"
NOTHING: Final = "leave-it-empty"


class IntakeScreen(BenchScreen[tuple[ToldLine, ...]]):
    """What was told and seen when the machine came in."""

    WHERE = "intake-sheet"
    HELP = "intake"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "fill-the-line"),
        Binding(f"d,{BACK_KEYS}", "finish", "done"),
    ]

    def __init__(self, sheet: Mapping[str, IntakeRow], told: Sequence[ToldLine]) -> None:
        super().__init__()
        self._sheet = dict(sheet)
        self._told = tuple(told)

    def body(self) -> ComposeResult:
        """The sheet."""
        yield Static(wording.text("intake.asks"), markup=False, classes="heading")
        yield TextList(self._rows(), id="items")

    def on_mount(self) -> None:
        """The bar on the first line."""
        self.query_one(TextList).focus()
        self.query_one(TextList).highlighted = 0

    def _rows(self) -> list[TextRow]:
        words = {line.about: line.words for line in self._told}
        rows = [
            TextRow(wording.clean(f"{row.title}: {choice_title(row, words.get(about, ''))}"), about)
            for about, row in self._sheet.items()
        ]
        notes = [line.words for line in self._told if line.about == NOTE]
        rows += [TextRow(wording.clean(f"{wording.text('intake.note')}: {note}")) for note in notes]
        return [*rows, TextRow(wording.text("intake.add-note"), NOTE)]

    @on(TextList.OptionSelected)
    def _opened(self, event: TextList.OptionSelected) -> None:
        about = event.option.id
        row = self._sheet.get(about or "")
        if row is None or not row.choices:
            if about is not None:
                self._type(about)
            return

        def chosen(words: str | None) -> None:
            if words == OTHER:
                self._type(row.about)
            elif words is not None:
                self._keep(row.about, "" if words == NOTHING else words)

        items = [(words, choice_title(row, words)) for words in row.choices]
        items += [(way, wording.text(f"intake.{way}")) for way in (OTHER, NOTHING)]
        self.app.push_screen(ChooseScreen(self.where(), f"{row.title}?", items), chosen)

    def _type(self, about: str) -> None:
        def typed(words: str | None) -> None:
            if words is not None:
                self._keep(about, words)

        title = self._sheet[about].title if about in self._sheet else wording.text("intake.note")
        self.app.push_screen(WordsScreen(self.where(), f"{title}?"), typed)

    def _keep(self, about: str, words: str) -> None:
        self._told = with_told(self._told, (ToldLine(about=about, words=words),))
        lines = self.query_one(TextList)
        lines.show(self._rows())
        lines.focus()

    def action_finish(self) -> None:
        """Back, with the sheet as it stands."""
        self.dismiss(self._told)
