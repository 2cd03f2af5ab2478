"""A run that could not be saved: where it is kept, and trying again."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from livecheck import wording
from livecheck.console.frame import BACK_KEYS, BenchScreen


class UnsavedScreen(BenchScreen[bool]):
    """True: try again."""

    WHERE = "not saved"
    HELP = """# Not saved
The shop drive refused the run, so it is kept in the memory of this machine, which is
lost when it is switched off. Plug the drive in again, or another one that holds a folder
livecheck-cases or the label SHOPDRIVE: the run is then saved by itself, and R tries at once.
On a command line, livecheck save with the file's name does the same.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r,f5", "again", "Try again"),
        Binding(BACK_KEYS, "leave", "Leave it there"),
    ]

    def __init__(self, says: str, kept: str) -> None:
        super().__init__()
        self._says = says
        self.kept = kept

    def body(self) -> ComposeResult:
        """What happened, and what to do."""
        lines = (
            "THE RUN IS NOT ON THE SHOP DRIVE",
            self._says,
            f"It is kept in {self.kept} until this machine is switched off.",
            "Plug the drive in again, or another one: the run is then saved there by itself.",
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
