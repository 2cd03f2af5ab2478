"""What differs from an ordinary run: depth, and which probes."""

from __future__ import annotations

from typing import ClassVar

import msgspec
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from livecheck import wording
from livecheck.console.answers import RunOptions, probe_title
from livecheck.console.frame import BACK_KEYS, BenchScreen
from livecheck.console.screens.pick import PickScreen
from livecheck.console.text_list import TextList, TextRow
from livecheck.plan import FULL, QUICK
from livecheck.probes import registry


class OptionsScreen(BenchScreen[RunOptions]):
    """Two lines to change."""

    WHERE = "options"
    HELP = "options"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "change", "change"),
        Binding(f"d,{BACK_KEYS}", "finish", "done"),
    ]

    def __init__(self, options: RunOptions) -> None:
        super().__init__()
        self.options = options

    def body(self) -> ComposeResult:
        """The lines."""
        yield Static(wording.text("options.heading"), classes="heading", markup=False)
        yield TextList(self._rows(), "options-list")

    def on_mount(self) -> None:
        """The bar on the first."""
        self.query_one(TextList).focus()
        self.query_one(TextList).highlighted = 0

    def _rows(self) -> list[TextRow]:
        probes = self.options.probes
        chosen = wording.text("options.by-complaint")
        if probes is not None:
            chosen = wording.text("options.chosen", n=len(probes))
        return [
            TextRow(wording.text(f"options.depth-{self.options.depth}"), "depth"),
            TextRow(wording.text("options.probes", chosen=chosen), "probes"),
        ]

    @on(TextList.OptionSelected)
    def _changed(self, event: TextList.OptionSelected) -> None:
        if event.option.id == "depth":
            self._set(depth=QUICK if self.options.depth == FULL else FULL)
            return
        items = [(probe.name, probe_title(probe)) for probe in registry.ALL]
        ticked = self.options.probes or ()
        self.app.push_screen(
            PickScreen(wording.text("where.probes"), wording.text("options.asks"), items, ticked),
            self._picked,
        )

    def _picked(self, names: tuple[str, ...] | None) -> None:
        self._set(probes=names or None)

    def _set(self, **fields: str | tuple[str, ...] | None) -> None:
        self.options = msgspec.structs.replace(self.options, **fields)
        self.query_one(TextList).show(self._rows())

    def action_finish(self) -> None:
        """Back, with the options as they stand."""
        self.dismiss(self.options)
