"""A drive tests itself: how far it is, and the way to break it off."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static
from textual.worker import get_current_worker

from livecheck import drive_test
from livecheck.console.drawings import bar
from livecheck.console.frame import BenchScreen, english_told
from livecheck.console.progress import span
from livecheck.drive_test import NotPossible
from livecheck.wording import clean, text

if TYPE_CHECKING:
    from livecheck.drive_test import SelfTestState
    from livecheck.host import Host
    from livecheck.probes.finding import Finding
    from livecheck.records import Part


class SelfTestScreen(BenchScreen["Finding | str | None"]):
    """What the drive found, or why it did not begin."""

    WHERE = "self-test-of-a-drive"
    HELP = "self-test"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("x,f8", "stop", "break-it-off"),
    ]

    def __init__(self, host: Host, part: Part, node: str, before: SelfTestState, kind: str) -> None:
        super().__init__()
        self._host = host
        self._part = part
        self._node = node
        self._before = before
        self._kind = kind
        self._stop = False
        self._begun = time.monotonic()
        self._state: SelfTestState | None = None

    def body(self) -> ComposeResult:
        """Which drive, how far, how long."""
        with VerticalScroll(id="self-test", can_focus=False):
            which = clean(text(f"self-tested.{self._kind}", drive=self._part.name))
            yield Static(which, classes="heading", markup=False)
            yield Static(text("self-tested.begins"), id="far", classes="text", markup=False)

    def on_mount(self) -> None:
        """Begin."""
        self._follow()
        self.set_interval(1.0, self._draw)

    @work(thread=True, exclusive=True, group="self-test")
    def _follow(self) -> None:
        worker = get_current_worker()

        def stopped() -> bool:
            return self._stop or worker.is_cancelled

        end: Finding | str | None = None
        try:
            for news in drive_test.course(
                self._host, self._node, self._before, self._kind, stopped
            ):
                if isinstance(news, drive_test.SelfTestState):
                    self._state = news
                else:
                    end = news
        except NotPossible as error:
            end = str(error)
        if not worker.is_cancelled:
            self.app.call_from_thread(self._end, end)

    def _end(self, found: Finding | str | None) -> None:
        while self.app.screen is not self and len(self.app.screen_stack) > 1:
            self.app.pop_screen()
        self.dismiss(found)

    def _draw(self) -> None:
        lines = [text("self-tested.so-far", time=span(time.monotonic() - self._begun))]
        state = self._state
        if state is not None:
            lines.insert(0, english_told(drive_test.told(state)))
            if state.percent_left is not None:
                lines.append(bar(1 - state.percent_left / 100, None, 50))
        stated = self._before.minutes.get(self._kind)
        if stated:
            lines.append(text("self-tested.states", time=span(stated * 60)))
        if self._stop:
            lines.append(text("self-tested.breaking-off"))
        self.query_one("#far", Static).update("\n".join(lines))

    def action_stop(self) -> None:
        """Break the test off."""
        self._stop = True
        self._draw()
