"""The few words that matter, to be read from across the bench."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar, Final

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from livecheck import bigtext
from livecheck.console.frame import BACK_KEYS, BenchScreen

LOOKED_EVERY_SECONDS: Final = 0.5


class BigScreen(BenchScreen[None]):
    """Large letters, looked up anew twice a second."""

    WHERE = "big"
    HELP = "big"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(f"b,{BACK_KEYS}", "app.pop_screen", "back"),
    ]

    def __init__(self, words: Callable[[], Sequence[str]]) -> None:
        super().__init__()
        self._words = words
        self._drawn: tuple[str, ...] = ()

    def body(self) -> ComposeResult:
        """One page of blocks."""
        yield Static("", id="page", markup=False)

    def on_mount(self) -> None:
        """Look again and again."""
        self.set_interval(LOOKED_EVERY_SECONDS, self.look)

    def read_instead(self) -> Sequence[str]:
        """The words themselves."""
        return self._words()

    def on_resize(self) -> None:
        """Draw as large as fits."""
        self._drawn = ()
        self.call_after_refresh(self.look)

    def look(self) -> None:
        """Draw the words if they changed."""
        words = tuple(self._words())
        page = self.query_one("#page", Static)
        if words != self._drawn and page.size.height:
            self._drawn = words
            page.update("\n".join(bigtext.page(words, page.size.width, page.size.height)))
