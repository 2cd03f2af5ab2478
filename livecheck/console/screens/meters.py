"""Live meters: heat, fans, power, adapter and battery, with the course of one of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Final

import msgspec
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static
from textual.worker import get_current_worker

from livecheck import meters
from livecheck.console import drawings
from livecheck.console.frame import BACK_KEYS, BenchScreen, english_told
from livecheck.console.text_list import TextList, TextRow
from livecheck.meters import Sort
from livecheck.wording import clean, text

if TYPE_CHECKING:
    from livecheck.host import Host

SHOWN: Final = (
    Sort.TEMPERATURE,
    Sort.FAN,
    Sort.POWER,
    Sort.FREQUENCY,
    Sort.ADAPTER,
    Sort.VOLTS,
    Sort.AMPERES,
    Sort.CHARGE,
    Sort.STATUS,
    Sort.LOAD,
)
SPANS: Final = (60.0, 300.0, 1800.0)
"""Seconds of history that can be looked at."""


class MeterList(TextList):
    """One line a meter."""

    HELP = "meter-list"


class MetersScreen(BenchScreen[None]):
    """Once a second; it only reads, also beside a run."""

    WHERE = "meters"
    HELP = "meters"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("l", "longer", "longer-shorter"),
        Binding(f"{BACK_KEYS},m", "app.pop_screen", "back"),
    ]

    def __init__(self, host: Host, every: float = 1.0) -> None:
        super().__init__()
        self._host = host
        self._every = every
        self._sampler = meters.Sampler(host)
        self._history = meters.History(self._sampler.channels, most=int(SPANS[-1]))
        self._most: dict[int, float] = {}
        self._channels: list[int] = []
        self._span = SPANS[1]

    def body(self) -> ComposeResult:
        """The meters, the course of one."""
        yield MeterList([TextRow(text("metered.looking"))], "meters")
        yield Static("", id="course-title", classes="heading", markup=False)
        yield Static("", id="course", markup=False)

    def on_mount(self) -> None:
        """Begin, if there is anything to meter."""
        lines = self.query_one(MeterList)
        lines.focus()
        if not any(channel.sort in SHOWN for channel in self._sampler.channels):
            lines.show([TextRow(text("metered.none"))])
            return
        self._feed()

    @work(thread=True, exclusive=True, group="meters")
    def _feed(self) -> None:
        worker = get_current_worker()
        stopped = lambda: worker.is_cancelled  # noqa: E731
        for sample in meters.feed(self._host, self._sampler, self._every, stopped):
            if worker.is_cancelled:
                return
            self.app.call_from_thread(self.take, sample)

    def take(self, sample: meters.Sample) -> None:
        """Draw one more moment."""
        self._history.add(sample)
        for index, value in enumerate(sample.values):
            if value is not None:
                self._most[index] = max(abs(value), self._most.get(index, 0.0))
        gauges = meters.gauges(self._sampler.channels, sample, SHOWN, self._most)
        self._channels = [gauge.channel for gauge in gauges]
        lines = self.query_one(MeterList)
        room = max(50, self.size.width - 5)
        lines.show([TextRow(drawings.meter(_told(g), room), str(i)) for i, g in enumerate(gauges)])
        if lines.highlighted is None:
            lines.highlighted = 0
        self._draw_course()

    @on(TextList.OptionHighlighted)
    def _draw_course(self) -> None:
        chosen = self.query_one(MeterList).chosen
        if chosen is None or not self._channels:
            return
        index = self._channels[int(chosen)]
        channel = self._sampler.channels[index]
        width = max(20, self.size.width - drawings.AXIS_WIDTH - 2)
        columns = self._history.columns(index, width, self._span)
        height = max(4, self.size.height // 3 - 2)
        title = text("metered.course", name=clean(english_told(channel.name)),
                     seconds=f"{self._span:.0f}",
                     unit=channel.unit or text("metered.on-or-off"))  # fmt: skip
        self.query_one("#course-title", Static).update(title)
        self.query_one("#course", Static).update("\n".join(drawings.course(columns, height)))

    def action_longer(self) -> None:
        """The next span of time."""
        self._span = SPANS[(SPANS.index(self._span) + 1) % len(SPANS)]
        self._draw_course()


def _told(gauge: meters.Gauge) -> meters.Gauge:
    """A meter in the console's language."""
    told = (english_told(gauge.name), english_told(gauge.text))
    return msgspec.structs.replace(gauge, name=told[0], text=told[1])
