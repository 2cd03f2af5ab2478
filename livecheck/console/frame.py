"""What every screen has: where one is, what is wrong, and which keys do something.

Every action has a letter; function keys are a second way, for fields that take
letters themselves. The line of keys at the bottom is made from the bindings, and
wraps where the screen is narrow.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, ClassVar, Final, TypeVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.geometry import Size
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

if TYPE_CHECKING:
    from livecheck.console.app import Console

KEY_NAMES: Final = {
    "escape": "Esc",
    "enter": "Enter",
    "space": "Space",
    "tab": "Tab",
    "up": "Up",
    "down": "Down",
}
"""Keys by the words printed on them; the rest is its own letter."""

UNTOLD: Final = frozenset({"question_mark", "slash"})

HELP_KEYS: Final = "f1,h,question_mark"
BACK_KEYS: Final = "escape"

_T = TypeVar("_T")


def key_title(key: str) -> str:
    """A key as it is printed on a keyboard, in glyphs every console font holds."""
    return KEY_NAMES.get(key, key.upper())


class TitleLine(Static):
    """``livecheck``, and the name of the screen."""

    def __init__(self, where: str) -> None:
        super().__init__(f"livecheck : {where}", markup=False, classes="title")

    def move(self, where: str) -> None:
        """Another place."""
        self.update(f"livecheck : {where}")


class Alarm(Static):
    """What is wrong with the shop drive or the stick; takes no room while all is well."""

    def __init__(self, says: str | None) -> None:
        super().__init__(says or "", markup=False, classes="alarm")
        self.display = bool(says)

    def say(self, says: str | None) -> None:
        """Show it, or nothing."""
        self.update(says or "")
        self.display = bool(says)


class KeyLine(Widget):
    """``E/F3 Evidence   T/F4 Parts and places``, in as many lines as the width asks for."""

    def __init__(self, entries: Sequence[str]) -> None:
        super().__init__(classes="keys")
        self.entries = tuple(entries)

    def lines(self, width: int) -> list[str]:
        """The entries in lines of at most that many cells."""
        lines = [""]
        for entry in self.entries:
            longer = f"{lines[-1]}  {entry}" if lines[-1] else entry
            if len(longer) <= width or not lines[-1]:
                lines[-1] = longer
            else:
                lines.append(entry)
        return lines

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many lines as are needed."""
        return len(self.lines(width))

    def render(self) -> Content:
        """The lines."""
        return Content("\n".join(self.lines(self.size.width)))


class BenchScreen(Screen[_T]):
    """A screen with its title, its keys, and help for what is focused."""

    WHERE: ClassVar[str] = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(HELP_KEYS, "help", "Help"),
    ]

    @property
    def console(self) -> Console:
        """The app, by its own type."""
        return cast("Console", self.app)

    def where(self) -> str:
        """What stands in the title line."""
        return self.WHERE

    def body(self) -> ComposeResult:
        """The screen's own widgets."""
        yield from ()

    def compose(self) -> ComposeResult:
        yield TitleLine(self.where())
        yield Alarm(self.console.alarm)
        yield from self.body()
        yield KeyLine(tuple(self.key_entries()))

    def key_entries(self) -> Iterator[str]:
        """``keys description`` of every binding that is shown, the screen's own first."""
        keys: dict[str, list[str]] = {}
        titles: dict[str, str] = {}
        for binding in self.shown_bindings():
            keys.setdefault(binding.action, []).extend(binding.key.split(","))
            titles[binding.action] = binding.description
        for action, names in keys.items():
            yield f"{'/'.join(_in_order(names))} {titles[action]}"

    @classmethod
    def shown_bindings(cls) -> Iterator[Binding]:
        """Bindings with a description, of this class before those of its bases."""
        seen: set[str] = set()
        for base in cls.__mro__:
            for binding in base.__dict__.get("BINDINGS", ()):
                if (
                    issubclass(base, BenchScreen)
                    and isinstance(binding, Binding)
                    and binding.show
                    and binding.action not in seen
                ):
                    seen.add(binding.action)
                    yield binding

    def action_help(self) -> None:
        """What the screen and the focused thing are for, and every key."""
        from livecheck.console.screens.help import HelpScreen

        focused = self.focused
        of_focused = getattr(focused, "HELP", None) if focused is not None else None
        self.app.push_screen(HelpScreen(self.where(), self.HELP, of_focused, self.key_entries()))


def _in_order(names: Iterable[str]) -> list[str]:
    """Letters before function keys; signs that sit elsewhere on each keyboard are not told."""
    titles = [key_title(name) for name in names if name not in UNTOLD]
    return sorted(dict.fromkeys(titles), key=lambda title: len(title) > 1 and title[0] == "F")


class Row:
    """One row of ``Lines``: its text, and what it stands for."""

    def __init__(self, text: str, key: str | None = None, style: str = "") -> None:
        self.text = text
        self.key = key
        self.style = style
        """Empty, ``heading`` or ``caution``; the last two cannot be chosen."""


STYLES: Final = {"heading": "ansi_cyan", "caution": "ansi_yellow"}


class Lines(OptionList):
    """Wrapped lines of plain text, one of them under the bar; markup in them does nothing."""

    HELP = """Up and Down move the bar, Page Up and Page Down go a page, Home and End to
the first and last line. Enter opens what is under the bar."""

    def __init__(self, rows: Sequence[Row] = (), id: str | None = None) -> None:  # noqa: A002
        super().__init__(*(_option(row) for row in rows), id=id, markup=False)

    def show(self, rows: Sequence[Row]) -> None:
        """Other rows; the bar stays where it is as far as it can."""
        at = self.highlighted
        self.clear_options()
        self.add_options([_option(row) for row in rows])
        if at is not None and rows:
            self.highlighted = min(at, len(rows) - 1)

    @property
    def chosen(self) -> str | None:
        """Key of the row under the bar."""
        at = self.highlighted
        return None if at is None else self.get_option_at_index(at).id


def _option(row: Row) -> Option:
    text = Content(row.text)
    if row.style:
        text = text.stylize(STYLES[row.style])
    return Option(text, id=row.key, disabled=bool(row.style))
