"""The flex test: every loss of power counted, large, while plug and lead are moved."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Final

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static
from textual.worker import get_current_worker

from livecheck import bigtext, flex
from livecheck.console.frame import BACK_KEYS, BenchScreen, english_told
from livecheck.flex.readings import line, shortest
from livecheck.wording import clean, text

if TYPE_CHECKING:
    from livecheck.flex import FlexResult, Look, Supply
    from livecheck.host import Host

SPARE: Final = "bench spare"
"""What a known-good adapter is called in the record."""
ROOMY: Final = 40
"""TextList of a screen that has room for more than the count."""
LAST: Final = 2
"""Losses shown in words: the room is the large letters'."""


class Flexed:
    """What was watched, and with which adapter."""

    def __init__(self, result: FlexResult, spare: bool) -> None:
        self.result = result
        self.spare = spare


class FlexScreen(BenchScreen[Flexed | None]):
    """POWER or NO POWER, the count of losses, the last ones with their times."""

    WHERE = "flex-test"
    HELP = "flex"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("d,enter", "finish", "done-save"),
        Binding("k", "spare", "known-good-adapter-own"),
        Binding(BACK_KEYS, "leave", "leave-save-nothing"),
    ]

    def __init__(self, host: Host, supply: Supply) -> None:
        super().__init__()
        self._host = host
        self._supply = supply
        self._look: Look | None = None
        self._spare = False
        self._drawn: tuple[bool, int] | None = None

    def body(self) -> ComposeResult:
        """Which adapter, the count, the last losses."""
        yield Static("", id="which", classes="text", markup=False)
        yield Static("", id="page", markup=False)
        yield Static("", id="losses", classes="text", markup=False)

    def on_mount(self) -> None:
        """Begin to watch."""
        self._which()
        self._watch()

    @work(thread=True, exclusive=True, group="flex")
    def _watch(self) -> None:
        worker = get_current_worker()
        for look in flex.watch(self._host, self._supply, None, lambda: worker.is_cancelled):
            if worker.is_cancelled:
                return
            self.app.call_from_thread(self.take, look)

    def take(self, look: Look) -> None:
        """Draw one more moment; a loss rings the bell."""
        self._look = look
        now = (look.lost, look.count)
        if self._drawn is not None and look.count > self._drawn[1]:
            self.app.bell()
        if now != self._drawn:
            self._drawn = now
            page = self.query_one("#page", Static)
            words = (text("flexed.no-power" if look.lost else "flexed.power"),
                     text("flexed.lost", n=look.count))  # fmt: skip
            page.update("\n".join(bigtext.page(words, page.size.width, page.size.height)))
        losses = [clean(english_told(line(loss))) for loss in look.losses[-LAST:]]
        losses.append(text("flexed.watched", seconds=f"{look.seconds:.0f}"))
        if self.size.height >= ROOMY:
            losses.append(english_told(shortest(look.result(None))))
        self.query_one("#losses", Static).update("\n".join(losses))

    def _which(self) -> None:
        key = "flexed.spare" if self._spare else "flexed.own"
        words = text(key, supply=clean(self._supply.name))
        self.query_one("#which", Static).update(words)

    def action_spare(self) -> None:
        """Which adapter is plugged in."""
        self._spare = not self._spare
        self._which()

    def action_finish(self) -> None:
        """Save what was counted."""
        if self._look is not None:
            label = SPARE if self._spare else None
            self.dismiss(Flexed(self._look.result(label), self._spare))

    def action_leave(self) -> None:
        """Save nothing."""
        self.dismiss(None)
