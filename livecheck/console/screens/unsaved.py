"""A run that could not be saved: where it is kept, and trying again."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from livecheck import wording
from livecheck.console.frame import BACK_KEYS, BenchScreen, english_told


class UnsavedScreen(BenchScreen[bool]):
    """True: try again."""

    WHERE = "not-saved"
    HELP = "unsaved"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r,f5", "again", "try-again"),
        Binding(BACK_KEYS, "leave", "leave-it-there"),
    ]

    def __init__(self, says: str, kept: str) -> None:
        super().__init__()
        self._says = says
        self.kept = kept

    def body(self) -> ComposeResult:
        """What happened, and what to do."""
        lines = (
            wording.text("unsaved.heading"),
            english_told(self._says),
            wording.text("unsaved.kept", file=self.kept),
            wording.text("unsaved.plug-in"),
        )
        with VerticalScroll(id="kept"):
            for line in lines:
                yield Static(wording.clean(line), markup=False, classes="text")

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#kept").focus()

    def action_again(self) -> None:
        """Try once more."""
        self.dismiss(True)

    def action_leave(self) -> None:
        """Back to the start."""
        self.dismiss(False)
