"""While probes run: what is tested now, how long it takes, what was found so far."""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import ClassVar, Final

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from livecheck import wording
from livecheck.console.events import Ordered
from livecheck.console.frame import BenchScreen
from livecheck.console.progress import RunProgress
from livecheck.console.requests import RunOrder
from livecheck.console.text_list import TextList, TextRow
from livecheck.console.views import BigView, ReadingView
from livecheck.probes import Probe
from livecheck.probes.runner import Event
from livecheck.records import Reading

DRAWN_EVERY_SECONDS: Final = 0.25
"""Probes may tell more often than anyone can read."""
EDGES: Final = 4
"""Cells beside a table: one at each side, and the scroll bar."""


class FindingList(TextList):
    """What failed so far."""

    HELP = "finding-list"


class RunningScreen(BenchScreen[None]):
    """One line a probe, and a list of findings."""

    WHERE = "running"
    HELP = "running"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("s,f4", "skip", "leave-this-out"),
        Binding("p,f5", "pause", "pause-go-on"),
        Binding("d,f6", "deepen", "full-depth"),
        Binding("x,f8", "stop", "stop-and-keep"),
        Binding("b,f7", "big", "big"),
        Binding("m,f9", "app.begin('meters')", "meters"),
    ]

    def __init__(
        self, probes: tuple[Probe, ...], lasted: Mapping[str, float], depth: str = "quick"
    ) -> None:
        super().__init__()
        self.course = RunProgress(probes, lasted, depth, time.monotonic)
        self._shown = self.course.failed
        """Findings as they are drawn."""
        self._written: dict[str, str] = {}

    def body(self) -> ComposeResult:
        """Now, the probes, the findings."""
        yield Static("", id="now", markup=False, classes="text")
        with VerticalScroll(id="probes", can_focus=False):
            yield Static("", id="table", markup=False)
        yield Static(wording.text("running.found"), classes="heading", markup=False)
        yield FindingList([TextRow(wording.text("running.nothing-yet"))], "found")

    def on_mount(self) -> None:
        """Draw now and then from now on."""
        self.query_one(FindingList).focus()
        self.draw()
        self.set_interval(DRAWN_EVERY_SECONDS, self.draw)

    def happened(self, event: Event) -> None:
        """Take in one event of the run; it is drawn at the next turn."""
        self.course.take(event)

    def draw(self) -> None:
        """How things stand."""
        width = max(40, self.size.width - EDGES)
        self._write("#now", self.course.summary())
        self._write("#table", self.course.table(width))
        scroll = self.query_one("#probes", VerticalScroll)
        scroll.scroll_to(y=max(0, self.course.busiest + 2 - scroll.size.height), animate=False)
        found = self.course.failed
        if found is not self._shown:
            self._shown = found
            lines = self.query_one(FindingList)
            at_end = lines.highlighted is None or lines.highlighted >= lines.option_count - 2
            lines.show([_row(i, where, one) for i, (where, one) in enumerate(found)])
            if at_end:
                lines.highlighted = len(found) - 1

    def _write(self, where: str, lines: list[str]) -> None:
        """Only what changed is drawn anew."""
        words = "\n".join(lines)
        if self._written.get(where) != words:
            self._written[where] = words
            self.query_one(where, Static).update(words)

    @on(TextList.OptionSelected)
    def _opened(self, event: TextList.OptionSelected) -> None:
        if event.option.id is not None:
            _, reading = self._shown[int(event.option.id)]
            self.say(ReadingView(wording.text("running.this-run"), reading))

    def action_skip(self) -> None:
        """Leave out what is tested now."""
        self.course.note(wording.text("running.skipping"))
        self.say(Ordered(RunOrder.SKIP))

    def action_pause(self) -> None:
        """Rest, or go on."""
        paused = self.course.turn_pause()
        self.say(Ordered(RunOrder.PAUSE if paused else RunOrder.RESUME))
        self.draw()

    def action_deepen(self) -> None:
        """Active probes at full depth from now on."""
        self.course.deepen()
        self.say(Ordered(RunOrder.DEEPEN))
        self.draw()

    def action_stop(self) -> None:
        """Ask the run to end; it saves what it has."""
        self.course.note(wording.text("running.stopping"))
        self.say(Ordered(RunOrder.STOP))
        self.draw()

    def action_big(self) -> None:
        """Readable across the bench."""
        self.say(BigView(self.course.big))


def _row(number: int, where: str, found: Reading) -> TextRow:
    at = f"{where}: " if where else ""
    says = wording.text("running.failed", at=at, says=found.says)
    return TextRow(wording.clean(says), str(number))
