"""What every screen has: where one is, what is wrong, and which keys do something.

Every action has a letter; function keys are a second way, for fields that take
letters themselves. The line of keys at the bottom is made from the bindings, and
wraps where the screen is narrow.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, ClassVar, Final, TypeVar, cast

from textual import on
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.geometry import Size
from textual.message import Message
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Input, OptionList, Static

from livecheck import wording
from livecheck.languages import ENGLISH, spoken

if TYPE_CHECKING:
    from livecheck.console.events import Event
    from livecheck.console.views import View

NAMED_KEYS: Final = frozenset({"escape", "enter", "space", "tab", "up", "down"})
"""Keys with words printed on them; the rest is its own letter."""

UNTOLD: Final = frozenset({"question_mark", "slash"})

HELP_KEYS: Final = "f1,h,question_mark"
BACK_KEYS: Final = "escape"

_T = TypeVar("_T")


def english_told(says: str) -> str:
    """What the worker or a file's reader says in English, in the console's language."""
    if spoken() == ENGLISH:
        return says
    from livecheck.found_words import reworded

    return reworded(says)


def key_title(key: str) -> str:
    """A key as it is printed on a keyboard, in glyphs every console font holds."""
    return wording.text(f"key-name.{key}") if key in NAMED_KEYS else key.upper()


def writes(key: str) -> bool:
    """Whether a key, pressed in a field, is typed into it."""
    return len(key) == 1 or key in UNTOLD or key == "space"


class TitleLine(Widget):
    """``livecheck``, the name of the screen, and whether the stick may be pulled."""

    def __init__(self, where: str) -> None:
        super().__init__(classes="title")
        self._where = where

    def move(self, where: str) -> None:
        """Another place."""
        self._where = where
        self.refresh()

    def render(self) -> Content:
        """The stick's word at the right edge, where there is room for it."""
        here = f"livecheck : {self._where}"
        says = (cast(BenchApp, self.app).stick or "").partition(":")[0]
        room = self.size.width - len(here) - 1
        return Content(f"{here} {says:>{room}}" if len(says) < room else here)


class AlarmLine(Static):
    """What is wrong with the shop drive or the stick; takes no room while all is well."""

    def __init__(self, says: str | None) -> None:
        super().__init__(says or "", markup=False, classes="alarm")
        self.display = bool(says)

    def say(self, says: str | None) -> None:
        """Show it, or nothing."""
        self.update(says or "")
        self.display = bool(says)


class BenchApp(App[int]):
    """What every screen relies on: alarms that stand on each of them until they are over."""

    def __init__(self) -> None:
        super().__init__()
        self._alarms: dict[str, str] = {}
        self.stick: str | None = None
        """Whether the stick may be pulled, in a sentence; None: not started from one."""

    @property
    def alarm(self) -> str | None:
        """What every screen shows; None while all is well."""
        return "\n".join(self._alarms.values()) or None

    def came_up(self, screen: Screen[Any]) -> None:
        """A screen is in front now."""

    def under_bar(self, words: str) -> None:
        """The bar of a list moved onto these."""

    def say_alarm(self, about: str, says: str | None) -> None:
        """Show what is wrong with one thing, or that it is over (None)."""
        says = says and wording.clean(english_told(says))
        if says == self._alarms.get(about):
            return
        self._alarms.pop(about, None)
        if says is not None:
            self._alarms[about] = says
        for screen in self.screen_stack:
            for line in screen.query(AlarmLine):
                line.say(self.alarm)


class Said(Message):
    """What the technician did on a screen; ``livecheck.console.flow`` says what comes next."""

    def __init__(self, what: Event | View) -> None:
        super().__init__()
        self.what = what


class KeyLine(Widget):
    """``E/F3 Evidence   T/F4 Parts and places``, in as many lines as the width asks for."""

    def __init__(self, entries: Sequence[str]) -> None:
        super().__init__(classes="keys")
        self.entries = tuple(entries)

    def show(self, entries: Sequence[str]) -> None:
        """Other entries."""
        if self.entries != (new := tuple(entries)):
            self.entries = new
            self.refresh(layout=True)

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
    """A screen with its title, its keys, and help for what is focused.

    Bindings are described by a key below ``[key]`` of the catalogue, and ``HELP`` of screens and
    widgets is one below ``[help]``.
    """

    WHERE: ClassVar[str] = ""
    """Its title, below ``[where]`` of the catalogue."""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(HELP_KEYS, "help", "help"),
    ]

    _bar: tuple[str | None, int] | None = None
    """List and row that the bar was on last."""

    def where(self) -> str:
        """What stands in the title line."""
        return wording.text(f"where.{self.WHERE}")

    def body(self) -> ComposeResult:
        """The screen's own widgets."""
        yield from ()

    def compose(self) -> ComposeResult:
        yield TitleLine(self.where())
        yield AlarmLine(cast(BenchApp, self.app).alarm)
        yield from self.body()
        yield KeyLine(tuple(self.key_entries()))

    def on_descendant_focus(self) -> None:
        """The keys that do something now: a field takes the letters for itself."""
        typing = isinstance(self.focused, Input)
        for line in self.query(KeyLine):
            line.show(tuple(self.key_entries(typing)))

    def key_entries(self, typing: bool = False) -> Iterator[str]:
        """``keys description`` of every binding that is shown, the screen's own first.

        ``typing``: without the keys that write something into a field.
        """
        keys: dict[str, list[str]] = {}
        titles: dict[str, str] = {}
        for binding in self.shown_bindings():
            names = [k for k in binding.key.split(",") if not (typing and writes(k))]
            keys.setdefault(binding.action, []).extend(names)
            titles[binding.action] = binding.description
        for action, names in keys.items():
            if names:
                does = wording.text(f"key.{titles[action]}")
                yield f"{'/'.join(_in_order(names))} {does}"

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

    def read_instead(self) -> Sequence[str] | None:
        """What is read out of a screen that is drawn and not written; None: what it shows."""
        return None

    def on_screen_resume(self) -> None:
        """It is in front, for the first time or again."""
        cast(BenchApp, self.app).came_up(self)

    @on(OptionList.OptionHighlighted)
    def _bar_moved(self, event: OptionList.OptionHighlighted) -> None:
        # Lists are filled anew while one looks at them; that is no move.
        at = (event.option_list.id, event.option_index)
        before, self._bar = self._bar, at
        if before is not None and before != at:
            cast(BenchApp, self.app).under_bar(str(event.option.prompt))

    def say(self, what: Event | View) -> None:
        """Tell the app what was done here, or what is to be looked at."""
        self.post_message(Said(what))

    def action_help(self) -> None:
        """What the screen and the focused thing are for, and every key."""
        from livecheck.console.views import HelpView

        focused = getattr(self.focused, "HELP", None)
        entries = tuple(self.key_entries())
        told = (wording.text(f"help.{key}") if key else None for key in (self.HELP, focused))
        screen, focused = told
        self.say(HelpView(self.where(), screen=screen, focused=focused, keys=entries))


def _in_order(names: Iterable[str]) -> list[str]:
    """Letters before function keys; signs that sit elsewhere on each keyboard are not told."""
    titles = [key_title(name) for name in names if name not in UNTOLD]
    return sorted(dict.fromkeys(titles), key=lambda title: len(title) > 1 and title[0] == "F")
