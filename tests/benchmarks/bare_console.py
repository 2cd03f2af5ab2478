"""A bare Textual app with the widgets of livecheck's first screen: the yardstick of ``console``.

Stock widgets, stock theme, no styles of its own, nothing behind it.
"""

from __future__ import annotations

import os

from textual.app import App, ComposeResult
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Input, Label, OptionList, Static

from livecheck.console import QUIET, RAW_CONSOLE

COMPLAINTS = ("no power", "no picture", "a part is missing or fails", "does not charge",
              "switches off by itself", "crashes or freezes", "slow", "intake check")  # fmt: skip


class BareScreen(Screen[None]):
    """The same widgets in the same order."""

    def compose(self) -> ComposeResult:
        yield Static("bare : start")
        yield Static("")
        with VerticalScroll():
            yield Static("Looking at the machine …")
            yield Label("Ticket (may stay empty)")
            yield Input(max_length=40)
            yield Label("What is wrong with it?")
            yield OptionList(*COMPLAINTS)
            yield Static("")
        yield Static("S Start the run  C Cases  O Options  Q Leave  H Help")

    def on_mount(self) -> None:
        """Begin with the ticket."""
        self.query_one(Input).focus()


class BareApp(App[int]):
    """Nothing but the screen."""

    ENABLE_COMMAND_PALETTE = False

    def on_mount(self) -> None:
        """Show it."""
        self.push_screen(BareScreen())


if __name__ == "__main__":
    # Textual has read its settings by now; they are the caller's (see ``console``).
    assert all(os.environ.get(name) == value for name, value in {**QUIET, **RAW_CONSOLE}.items())
    BareApp().run(mouse=False)
