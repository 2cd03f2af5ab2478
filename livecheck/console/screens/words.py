"""A question that is answered in words of one's own."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input, Static

from livecheck import wording
from livecheck.console.frame import BenchScreen
from livecheck.console.text_field import TextField

MOST = 200
"""Letters; more is a letter to the customer, not a note."""


class WordsScreen(BenchScreen[str | None]):
    """One line of text; Esc leaves without one."""

    HELP = "words"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "keep", "keep-it"),
        Binding("escape", "leave", "back"),
    ]

    def __init__(self, title: str, asks: str) -> None:
        super().__init__()
        self._title = title
        self._asks = asks

    def where(self) -> str:
        """What is asked about."""
        return self._title

    def body(self) -> ComposeResult:
        """The question and the field."""
        yield Static(wording.clean(self._asks), markup=False, classes="heading")
        yield TextField(id="words", max_length=MOST)

    def on_mount(self) -> None:
        """Type at once."""
        self.query_one(Input).focus()

    @on(Input.Submitted)
    def _kept(self, event: Input.Submitted) -> None:
        if event.value.strip():
            self.dismiss(event.value.strip())

    def action_leave(self) -> None:
        """Nothing is kept."""
        self.dismiss(None)
