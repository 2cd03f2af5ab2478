"""Guided checks: the list of what this machine has the hardware for."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar, Final

import msgspec
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from livecheck import guided, wording
from livecheck.console.frame import BenchScreen
from livecheck.console.screens.guide import GuideScreen
from livecheck.console.text_list import TextList, TextRow
from livecheck.worded_forms import guide_title, worded_row

if TYPE_CHECKING:
    from livecheck.guided import GuidedTable, GuideOffer, GuideStep
    from livecheck.guided.bench import GuideBench
    from livecheck.host import Host
    from livecheck.records import Knowledge, NotTested, Reading


STATE_WIDTH: Final = 15


class Given:
    """What guided checks gave so far, by the number of the offer."""

    def __init__(self, offers: Sequence[GuideOffer]) -> None:
        self.offers = tuple(offers)
        self.steps: dict[int, GuideStep] = {}

    def readings(self) -> tuple[Reading, ...]:
        """All readings."""
        return tuple(r for step in self.steps.values() for r in step.readings)

    def called(self) -> dict[str, str]:
        """Place -> what it is called."""
        return {place: name for s in self.steps.values() for place, name in s.called.items()}

    def left_out(self) -> tuple[NotTested, ...]:
        """What was skipped, and what was never begun."""
        missed = [n for step in self.steps.values() for n in step.not_tested]
        for number, offer in enumerate(self.offers):
            if number not in self.steps:
                missed += guided.left_out(offer)
        return tuple(missed)


class GuidedScreen(BenchScreen[Given | None]):
    """One line a check."""

    WHERE = "guided-checks"
    HELP = "guided"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "one", "do-it"),
        Binding("a", "all", "all-that-are-open"),
        Binding("d,f5", "finish", "done-save"),
        Binding("escape", "leave", "leave-save-nothing"),
    ]

    def __init__(
        self,
        offers: Sequence[GuideOffer],
        table: GuidedTable,
        tables: Knowledge,
        host: Host,
        bench: GuideBench,
    ) -> None:
        super().__init__()
        self.given = Given(offers)
        self._table = table
        self._tables = tables
        self._host = host
        self._bench = bench
        self._queue: list[int] = []

    def body(self) -> ComposeResult:
        """The list."""
        yield TextList(self._rows(), "guided")

    def on_mount(self) -> None:
        """The bar on the first."""
        self.query_one(TextList).focus()
        self.query_one(TextList).highlighted = 0

    def _rows(self) -> list[TextRow]:
        rows = [
            TextRow(
                wording.clean(f"{self._state(i)}  {guide_title(offer)} ({_minutes(offer)} min)"),
                str(i),
            )
            for i, offer in enumerate(self.given.offers)
        ]
        return rows or [TextRow(wording.text("guided-list.none"))]

    def _state(self, number: int) -> str:
        step = self.given.steps.get(number)
        if step is None:
            return wording.text("guided-list.open").ljust(STATE_WIDTH)
        outcomes = {reading.outcome for reading in step.readings}
        words = [wording.title(o) for o in sorted(outcomes)]
        return (words or [wording.text("guided-list.left-out")])[0].ljust(STATE_WIDTH)

    @on(TextList.OptionSelected)
    def _chosen(self, event: TextList.OptionSelected) -> None:
        if event.option.id is not None:
            self._queue = [int(event.option.id)]
            self._next()

    def action_all(self) -> None:
        """Every open one, one after another."""
        self._queue = [i for i in range(len(self.given.offers)) if i not in self.given.steps]
        self._next()

    def _next(self) -> None:
        if not self._queue:
            self.query_one(TextList).show(self._rows())
            return
        number = self._queue.pop(0)
        offer = self.given.offers[number]
        asked = msgspec.structs.replace(offer, row=worded_row(offer.row))
        guide = guided.open_guide(asked, self._tables, self._table)
        first = guide.start()
        if first.done:
            # What is known without asking takes no screen.
            self.given.steps[number] = first
            self._next()
            return
        known = (self._tables.cautions.get(name) for name in offer.row.cautions)
        cautions = tuple(caution.text for caution in known if caution is not None)

        def done(step: GuideStep | None) -> None:
            if step is None:
                self._queue = []
            else:
                self.given.steps[number] = step
            self._next()

        screen = GuideScreen(guide_title(offer), cautions, guide, self._host, self._bench)
        self.app.push_screen(screen, done)

    def action_finish(self) -> None:
        """Save what was answered."""
        self.dismiss(self.given)

    def action_leave(self) -> None:
        """Save nothing."""
        self.dismiss(None)


def _minutes(offer: GuideOffer) -> str:
    return wording.figure(offer.row.minutes)
