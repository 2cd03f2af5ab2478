"""The parts sheet: what to search and match by for the unit to order, and its code."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from livecheck import wording
from livecheck.console import code_drawing
from livecheck.console.frame import BACK_KEYS, BenchScreen
from livecheck.console.text_list import TextList, TextRow
from livecheck.partssheet import PartsSheet
from livecheck.partssheet.qr import modules


class SheetLines(TextList):
    """One line a trait."""

    HELP = "sheet-lines"


class PartsScreen(BenchScreen[None]):
    """One sheet at a time."""

    HELP = "parts"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("k,f5", "code", "code-for-a-camera"),
        Binding("n,f6", "next", "next-unit"),
        Binding(f"{BACK_KEYS},o", "app.pop_screen", "back"),
    ]

    def __init__(self, sheets: Sequence[PartsSheet]) -> None:
        super().__init__()
        self._sheets = tuple(sheets)
        self._at = 0

    def where(self) -> str:
        """How many units there are."""
        return wording.text("where.parts", n=len(self._sheets))

    def body(self) -> ComposeResult:
        """The sheet."""
        yield SheetLines(self._rows(), "sheet-lines")

    def on_mount(self) -> None:
        """The bar on the first line."""
        self.query_one(SheetLines).focus()
        self.query_one(SheetLines).highlighted = 0

    def _rows(self) -> list[TextRow]:
        lines = self._sheets[self._at].text.splitlines()
        return [TextRow(wording.clean(line), str(i)) for i, line in enumerate(lines) if line]

    def action_next(self) -> None:
        """The sheet of the next unit."""
        self._at = (self._at + 1) % len(self._sheets)
        lines = self.query_one(SheetLines)
        lines.show(self._rows())
        lines.highlighted = 0

    def action_code(self) -> None:
        """The known lines as a code."""
        self.app.push_screen(CodeScreen(self._sheets[self._at]))


class CodeScreen(BenchScreen[None]):
    """A QR code of as many lines as can be read from this screen."""

    WHERE = "code"
    HELP = "code"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(f"{BACK_KEYS},k", "app.pop_screen", "back"),
    ]

    def __init__(self, sheet: PartsSheet) -> None:
        super().__init__()
        self._sheet = sheet

    def body(self) -> ComposeResult:
        """What is in it, and the code."""
        yield Static("", id="held", classes="text", markup=False)
        yield Static("", id="code", markup=False)

    def on_mount(self) -> None:
        """Draw what has room, once the room is known."""
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        code = self.query_one("#code", Static)
        lines = self._sheet.code.splitlines()
        drawn, held = largest(lines, code.size.width, code.size.height)
        words = wording.text("parts.no-room")
        if held:
            words = wording.text("parts.held", held=held, of=len(lines))
        self.query_one("#held", Static).update(words)
        code.update("\n".join(drawn))


def largest(lines: Sequence[str], columns: int, rows: int) -> tuple[list[str], int]:
    """The code of the most lines from the top that has room, and how many those are."""
    for held in range(len(lines), 0, -1):
        try:
            dark = modules("\n".join(lines[:held]), "l")
        except ValueError:
            continue
        drawn = code_drawing.code(dark, columns, rows)
        if drawn:
            return drawn, held
    return [], 0
