"""One guided check at work: what to do, a picture, a question; patterns from edge to edge."""

from __future__ import annotations

import queue
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, ClassVar, Final

from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static
from textual.worker import Worker, get_current_worker

from livecheck import guided, wording
from livecheck.console import guided_drawings
from livecheck.console.frame import BenchScreen, english_told
from livecheck.guided.drive import drive
from livecheck.worded import slug, table_word

if TYPE_CHECKING:
    from livecheck.guided import Event, Guide, GuideStep, ScreenPattern
    from livecheck.guided.bench import GuideBench
    from livecheck.host import Host

WAIT: Final = 0.05
"""Seconds an answer is waited for before devices are looked at again."""


class GuideScreen(BenchScreen["GuideStep | None"]):
    """One check, from its first step to its last."""

    HELP = "guide"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9,escape", "skip", "leave-it-out"),
        Binding("f10", "stop", "back-to-the-list"),
    ]

    def __init__(
        self, title: str, cautions: Sequence[str], guide: Guide, host: Host, bench: GuideBench
    ) -> None:
        super().__init__()
        self._title = title
        self._cautions = tuple(cautions)
        self._guide = guide
        self._host = host
        self._bench = bench
        self.answers: queue.SimpleQueue[Event] = queue.SimpleQueue()
        self._step: GuideStep | None = None

    def where(self) -> str:
        """The check."""
        return wording.text("where.guide", check=wording.clean(self._title))

    def body(self) -> ComposeResult:
        """Cautions, what to do, a picture, the question."""
        with VerticalScroll(id="guide", can_focus=False):
            for caution in self._cautions:
                yield Static(
                    wording.text("console.caution", says=caution), classes="caution", markup=False
                )
            yield Static("", id="lines", classes="text", markup=False)
            yield Static("", id="picture", markup=False)
            yield Static("", id="asked", classes="heading", markup=False)

    def on_mount(self) -> None:
        """Begin."""
        self._drive()

    @work(thread=True, exclusive=True, group="guide")
    def _drive(self) -> None:
        worker = get_current_worker()
        step = drive(self._guide, self._host, self._bench, _AtScreen(self, worker))
        if not worker.is_cancelled:
            self.app.call_from_thread(self._end, step)

    def _end(self, step: GuideStep) -> None:
        # A pattern, or help, may stand in front.
        while self.app.screen is not self and len(self.app.screen_stack) > 1:
            self.app.pop_screen()
        self.dismiss(step)

    def take(self, step: GuideStep) -> None:
        """Show a step."""
        self._step = step
        if step.done:
            return
        if isinstance(step.picture, guided.ScreenPattern):
            self._paint(step.picture)
            return
        if isinstance(self.app.screen, PatternScreen):
            self.app.pop_screen()
        self.query_one("#lines", Static).update("\n".join(map(wording.clean, self._lines(step))))
        self.query_one("#picture", Static).update("\n".join(self._picture(step)))
        self.query_one("#asked", Static).update("\n".join(map(wording.clean, _asked(step))))

    def _lines(self, step: GuideStep) -> Iterator[str]:
        yield from map(english_told, step.lines)
        if step.progress is not None:
            yield wording.text("guided-list.progress", share=f"{step.progress:.0%}")

    def _picture(self, step: GuideStep) -> list[str]:
        width, height = self.size.width - 4, max(4, self.size.height - 12)
        if isinstance(step.picture, guided.Keys):
            return guided_drawings.keyboard(step.picture, width)
        if isinstance(step.picture, guided.Trace):
            return guided_drawings.surface(step.picture, width, height)
        return []

    def _paint(self, pattern: ScreenPattern) -> None:
        if isinstance(self.app.screen, PatternScreen):
            self.app.screen.paint(pattern)
        else:
            self.app.push_screen(PatternScreen(pattern, self.answers.put))

    def on_key(self, event: events.Key) -> None:
        """A letter that answers; Enter takes the only way on."""
        step = self._step
        if step is None or not step.choices:
            return
        only = step.choices[0] if len(step.choices) == 1 and event.key == "enter" else None
        choice = next((c for c in step.choices if c.key == event.key), only)
        if choice is not None:
            event.stop()
            self.answers.put(guided.Answered(value=choice.value))

    def action_skip(self) -> None:
        """Leave the check out."""
        self.answers.put(guided.Skip())

    def action_stop(self) -> None:
        """Leave it out, and those after it."""
        self.dismiss(None)


class _AtScreen:
    """The technician at the screen, for the thread that drives the check."""

    def __init__(self, screen: GuideScreen, worker: Worker[None]) -> None:
        self._screen = screen
        self._worker = worker

    def show(self, step: GuideStep) -> None:
        """Draw it."""
        if not self._worker.is_cancelled:
            self._screen.app.call_from_thread(self._screen.take, step)

    def ask(self, step: GuideStep) -> Event | None:
        """What was pressed."""
        if self._worker.is_cancelled:
            return guided.Skip()
        try:
            return self._screen.answers.get(timeout=WAIT)
        except queue.Empty:
            return None


def _asked(step: GuideStep) -> Iterator[str]:
    if step.question:
        yield step.question
    for choice in step.choices:
        told = table_word(f"guide-answer.{slug(choice.title)}", choice.title)
        yield f"  {choice.key.upper()} = {told}"


class PatternScreen(Screen[None]):
    """A test pattern from edge to edge; any key goes on, Esc leaves the check out."""

    def __init__(self, pattern: ScreenPattern, answer: Callable[[Event], None]) -> None:
        super().__init__()
        self._answer = answer
        self._area = Painted(pattern)

    def compose(self) -> ComposeResult:
        yield self._area

    def paint(self, pattern: ScreenPattern) -> None:
        """The next one."""
        self._area.pattern = pattern
        self._area.refresh()

    def on_key(self, event: events.Key) -> None:
        """On, or out."""
        event.stop()
        out = event.key in ("escape", "f9")
        self._answer(guided.Skip() if out else guided.Answered(value="done"))


class Painted(Widget):
    """Every cell of the screen."""

    def __init__(self, pattern: ScreenPattern) -> None:
        super().__init__(id="painted")
        self.pattern = pattern

    def render(self) -> Content:
        """Rows of the pattern."""
        rows, style = guided_drawings.pattern(self.pattern, self.size.width, self.size.height)
        return Content("\n".join(rows)).stylize(style)
