"""Help for the screen in front and the thing that is focused."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from livecheck.console.frame import BACK_KEYS, BenchScreen
from livecheck.console.views import HelpView
from livecheck.wording import text


class HelpScreen(BenchScreen[None]):
    """A page of plain text."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(f"{BACK_KEYS},enter,h,f1", "app.pop_screen", "back"),
    ]

    def __init__(self, view: HelpView) -> None:
        super().__init__()
        self._where = view.where
        self._screen = _plain(view.screen or "")
        self._focused = _plain(view.focused or "")
        self._entries = view.keys

    def where(self) -> str:
        """The screen it is about."""
        return text("where.help", screen=self._where)

    def body(self) -> ComposeResult:
        """The screen, the focused thing, the keys."""
        with VerticalScroll(id="help"):
            yield Static(self._screen, markup=False, classes="text")
            if self._focused:
                yield Static(text("help-page.focused"), classes="heading")
                yield Static(self._focused, markup=False, classes="text")
            yield Static(text("help-page.keys"), classes="heading")
            yield Static("\n".join(self._entries), markup=False, classes="text")
            yield Static(text("help-page.everywhere"), markup=False, classes="text")

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#help").focus()

    def action_help(self) -> None:
        """Help for help is this page."""


def _plain(words: str) -> str:
    """A heading and paragraphs, each paragraph one line that is still to be wrapped."""
    heading, _, rest = words.strip().rpartition("# ")[2].partition("\n")
    if not words.lstrip().startswith("#"):
        heading, rest = "", words
    paragraphs = [" ".join(part.split()) for part in rest.strip().split("\n\n")]
    return "\n\n".join([*([heading.upper()] if heading else []), *paragraphs])
