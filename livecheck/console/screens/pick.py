"""Picking from a list: several with ticks, or one; and a question with yes and no."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from livecheck import wording
from livecheck.console.frame import BACK_KEYS, BenchScreen
from livecheck.console.text_list import TextList, TextRow

Item = tuple[str, str]
"""A value, and how it reads."""


class PickScreen(BenchScreen[tuple[str, ...]]):
    """Ticks before the lines; Enter or Space sets and takes them away."""

    HELP = "pick"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "tick", "tick", priority=True),
        Binding("space", "tick", "tick"),
        Binding(f"d,{BACK_KEYS}", "finish", "done"),
    ]

    def __init__(self, title: str, asks: str, items: Sequence[Item], ticked: Iterable[str]) -> None:
        super().__init__()
        self._title = title
        self._asks = asks
        self._items = tuple(items)
        self._ticked = set(ticked)

    def where(self) -> str:
        """What is picked."""
        return self._title

    def body(self) -> ComposeResult:
        """The question and the list."""
        yield Static(wording.clean(self._asks), markup=False, classes="heading")
        yield TextList(self._rows(), id="items")

    def on_mount(self) -> None:
        """The bar on the first line."""
        lines = self.query_one(TextList)
        lines.focus()
        lines.highlighted = 0 if self._items else None

    def action_tick(self) -> None:
        """Set or take away a tick."""
        lines = self.query_one(TextList)
        if lines.chosen is not None:
            self._ticked ^= {self._items[int(lines.chosen)][0]}
            lines.show(self._rows())

    def action_finish(self) -> None:
        """Back, with the ticks."""
        self.dismiss(tuple(value for value, _ in self._items if value in self._ticked))

    def _rows(self) -> list[TextRow]:
        return [
            TextRow(f"[{'x' if value in self._ticked else ' '}] {wording.clean(label)}", str(index))
            for index, (value, label) in enumerate(self._items)
        ] or [TextRow(wording.text("pick.nothing"))]


class ChooseScreen(BenchScreen[str | None]):
    """One of several; Esc leaves without a choice."""

    HELP = "choose"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "take", "take-it"),
        Binding(BACK_KEYS, "leave", "back"),
    ]

    def __init__(self, title: str, asks: str, items: Sequence[Item]) -> None:
        super().__init__()
        self._title = title
        self._asks = asks
        self._items = tuple(items)

    def where(self) -> str:
        """What is chosen."""
        return self._title

    def body(self) -> ComposeResult:
        """The question and the list."""
        yield Static(wording.clean(self._asks), markup=False, classes="heading")
        rows = [TextRow(wording.clean(label), str(i)) for i, (_, label) in enumerate(self._items)]
        yield TextList(rows or [TextRow(wording.text("pick.nothing"))], id="items")

    def on_mount(self) -> None:
        """The bar on the first line."""
        self.query_one(TextList).focus()
        self.query_one(TextList).highlighted = 0

    @on(TextList.OptionSelected)
    def _taken(self, event: TextList.OptionSelected) -> None:
        key = event.option.id
        self.dismiss(self._items[int(key)][0] if key is not None else None)

    def action_leave(self) -> None:
        """No choice."""
        self.dismiss(None)


class ConfirmScreen(BenchScreen[bool]):
    """A question before something that changes a state; the cautions stand beside it."""

    HELP = "confirm"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "yes", "yes"),
        Binding(f"n,{BACK_KEYS}", "no", "no"),
    ]

    def __init__(self, title: str, asks: str, cautions: Sequence[str] = ()) -> None:
        super().__init__()
        self._title = title
        self._asks = asks
        self._cautions = tuple(cautions)

    def where(self) -> str:
        """What is asked about."""
        return self._title

    def body(self) -> ComposeResult:
        """Cautions, then the question."""
        with VerticalScroll(id="confirm"):
            for caution in self._cautions:
                words = wording.clean(wording.text("console.caution", says=caution))
                yield Static(words, markup=False, classes="caution")
            for line in self._asks.splitlines():
                yield Static(wording.clean(line), markup=False, classes="text")

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#confirm").focus()

    def action_yes(self) -> None:
        """Do it."""
        self.dismiss(True)

    def action_no(self) -> None:
        """Leave it."""
        self.dismiss(False)


class TellScreen(BenchScreen[None]):
    """Something to know, and the way back."""

    HELP = "tell"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(f"{BACK_KEYS},enter", "app.pop_screen", "back"),
    ]

    def __init__(self, title: str, says: Sequence[str]) -> None:
        super().__init__()
        self._title = title
        self._says = tuple(says)

    def where(self) -> str:
        """What it is about."""
        return self._title

    def body(self) -> ComposeResult:
        """The lines."""
        with VerticalScroll(id="told"):
            for line in self._says:
                yield Static(wording.clean(line), markup=False, classes="text")

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#told").focus()
