"""Wrapped lines of plain text, one of them under the bar."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from textual.content import Content
from textual.geometry import Size
from textual.widgets import OptionList
from textual.widgets.option_list import Option


class TextRow:
    """One row: its text, and what it stands for."""

    def __init__(self, text: str, key: str | None = None, style: str = "") -> None:
        self.text = text
        self.key = key
        self.style = style
        """Empty, ``heading`` or ``caution``; the last two cannot be chosen."""


_NARROWEST: Final = 10
STYLES: Final = {"heading": "ansi_cyan", "caution": "ansi_yellow"}


class TextList(OptionList):
    """Rows of plain text; markup in them does nothing."""

    HELP = "list"

    def __init__(
        self,
        rows: Sequence[TextRow] = (),
        id: str | None = None,  # noqa: A002
    ) -> None:
        super().__init__(*(_option(row) for row in rows), id=id, markup=False)

    def show(self, rows: Sequence[TextRow]) -> None:
        """Other rows; the bar stays on its row, else where it is as far as it can."""
        at, key = self.highlighted, self.chosen
        self.clear_options()
        self.add_options([_option(row) for row in rows])
        if at is not None and rows:
            same = (n for n, row in enumerate(rows) if key is not None and row.key == key)
            self.highlighted = next(same, min(at, len(rows) - 1))

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As in columns enough for a word: in none at all, words cannot be wrapped."""
        return super().get_content_height(container, viewport, max(width, _NARROWEST))

    @property
    def chosen(self) -> str | None:
        """Key of the row under the bar."""
        at = self.highlighted
        return None if at is None else self.get_option_at_index(at).id


def _option(row: TextRow) -> Option:
    text = Content(row.text)
    if row.style:
        text = text.stylize(STYLES[row.style])
    return Option(text, id=row.key, disabled=bool(row.style))
