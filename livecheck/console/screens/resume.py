"""A machine that was here before: what changed by itself, and one question."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

import msgspec
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from livecheck import wording
from livecheck.console.answers import ResumeAnswers, Way
from livecheck.console.events import Resumed
from livecheck.console.frame import BenchScreen
from livecheck.console.replies import Known, Looked, Pickable, Proposed
from livecheck.console.screens.pick import PickScreen
from livecheck.console.text_list import TextList, TextRow
from livecheck.plan import WORKSHEETS
from livecheck.records import HowEnded, WhereShown
from livecheck.wording import text

NO_MACHINE = "no known-good machine"


class ResumeList(TextList):
    """The one question."""

    HELP = "resume-list"


class ResumeScreen(BenchScreen[Resumed]):
    """The case goes on."""

    WHERE = "here-before"
    HELP = "resume"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("s,f5", "go", "start-the-run"),
        Binding("space", "tick", "tick-change", show=False),
        Binding("v,f3", "open", "last-verdict"),
        Binding("n,escape", "other", "another-job"),
        Binding("c,f2", "app.begin('cases')", "cases"),
        Binding("p,f9", "app.begin('switch-off')", "switch-off"),
    ]

    def __init__(self, looked: Looked, known: Known, proposed: Proposed | None) -> None:
        super().__init__()
        self._proposed = proposed
        self._said = Static("", id="proposed", markup=False, classes="text")
        self._done = False
        """The proposed step was done, and no sensor sees it."""
        self._looked = looked
        self._known = known
        self.told = ResumeAnswers(cannot=known.cannot, in_known_good_machine=False)
        self._lists: dict[str, Callable[[], None]] = {
            "reseated": lambda: self._pick("reseated", looked.places),
            "known_good": lambda: self._pick("known_good", looked.numbered),
            "spares": lambda: self._pick("spares", looked.unnumbered),
            "returned": lambda: self._pick("returned", looked.unnumbered),
            "treated": lambda: self._pick("treated", looked.treated),
            "cannot": lambda: self._pick("cannot", self._steps()),
        }

    def where(self) -> str:
        """The case."""
        return text("where.resume", case=wording.clean(self._known.case))

    def body(self) -> ComposeResult:
        """What changed, what was proposed, the question."""
        with VerticalScroll(id="resume", can_focus=False):
            yield Static("\n".join(self._changes()), id="before", markup=False, classes="text")
            yield self._said
        yield Static(text("resume.asks"), classes="heading", markup=False)
        yield ResumeList(self._rows(), "question")

    def on_mount(self) -> None:
        """The bar on going on."""
        lines = self.query(ResumeList)
        if not lines:
            # The console ends just now, as it gives way to the flow without a screen.
            return
        lines.first().focus()
        lines.first().highlighted = 0
        if self._proposed is not None:
            self.show_proposed(self._proposed)

    def show_proposed(self, said: Proposed) -> None:
        """What the runs so far said."""
        self._proposed = said
        # It may come while the screen is being drawn, and half of its lines are not there yet.
        for lines in self.query(ResumeList):
            lines.show(self._rows())
        words = [text("resume.so-far", says=said.sentence)]
        if said.step is not None:
            words.append(text("resume.proposed", step=said.step))
        self._said.update("\n".join(map(wording.clean, words)))

    def _changes(self) -> list[str]:
        known = self._known
        ticket = text("resume.ticket", ticket=known.ticket) if known.ticket else ""
        lines = [wording.clean(text("resume.known", case=known.case + ticket, runs=known.runs,
                                    complaint=wording.title(known.complaint)))]  # fmt: skip
        if known.cut_off:
            lines.append(text("resume.cut-off"))
        if known.stopped:
            lines.append(text("resume.stopped"))
        if known.complaint in WORKSHEETS and not known.same_machine:
            lines.append(text("resume.measured"))
        elif not known.same_machine:
            lines.append(text("resume.other-board"))
        elif known.changes:
            lines.append(text("resume.changed"))
            lines += [f"- {wording.clean(change)}" for change in known.changes]
        elif known.runs:
            lines.append(text("resume.unchanged"))
        damaged = (text("resume.damaged", says=one) for one in known.damaged)
        return [*lines, *map(wording.clean, damaged)]

    def _rows(self) -> list[TextRow]:
        told, looked = self.told, self._looked
        number = self._known.number
        rows = [TextRow(text("resume.go", number=number), Way.RUN)]
        if self._known.complaint in WORKSHEETS:
            rows = [
                TextRow(text("resume.measure"), Way.MEASURE),
                TextRow(text("resume.starts-now", number=number), Way.RUN),
            ]
        if (proposed := self._proposed) is not None and proposed.told is not None:
            tick = "x" if self._done else " "
            words = f"[{tick}] {text('resume.done', step=proposed.step)}"
            rows.append(TextRow(wording.clean(words), "done"))
        if self._known.cut_off:
            how = text(f"resume.ended-{told.ended or NOT_KNOWN}".replace(" ", "-"))
            rows.append(TextRow(text("resume.ended", how=how), "ended"))
        if self._known.complaint not in WORKSHEETS:
            where = text(f"resume.shows-{told.shows or NOT_KNOWN}".replace(" ", "-"))
            rows.append(TextRow(text("resume.shows", where=where), "shows"))
        rows += [
            TextRow(_listed("reseated", told.reseated, looked.places), "reseated"),
            TextRow(_listed("known-good", told.known_good, looked.numbered), "known_good"),
        ]
        if looked.unnumbered:
            rows.append(TextRow(_listed("spares", told.spares, looked.unnumbered), "spares"))
            rows.append(TextRow(_listed("returned", told.returned, looked.unnumbered), "returned"))
        rows.append(TextRow(_listed("treated", told.treated, looked.treated), "treated"))
        tick = "x" if told.in_known_good_machine else " "
        rows += [
            TextRow(f"[{tick}] {text('resume.elsewhere')}", "elsewhere"),
            TextRow(_listed("cannot", told.cannot, self._steps()), "cannot"),
            TextRow(text("resume.other"), Way.OTHER),
        ]
        return rows

    def _steps(self) -> tuple[Pickable, ...]:
        spares = (
            Pickable(f"no spare: {kind.value}", text("resume.no-spare", kind=kind.label))
            for kind in self._looked.kinds
        )
        return (*spares, Pickable(NO_MACHINE, text("resume.no-machine")))

    @on(TextList.OptionSelected)
    def _opened(self, event: TextList.OptionSelected) -> None:
        key = event.option.id or Way.RUN
        if key in (Way.RUN, Way.MEASURE, Way.OTHER):
            self._leave(Way(key))
        else:
            self._change(key)

    def action_tick(self) -> None:
        """Space changes a line as Enter does; it starts nothing."""
        key = self.query_one(ResumeList).chosen
        if key is not None and key not in (Way.RUN, Way.MEASURE, Way.OTHER):
            self._change(key)

    def _change(self, key: str) -> None:
        if key == "elsewhere":
            self._tell(in_known_good_machine=not self.told.in_known_good_machine)
        elif key == "done":
            self._done = not self._done
            self.query_one(ResumeList).show(self._rows())
        elif key == "ended":
            self._tell(ended=_following(_ENDS, self.told.ended))
        elif key == "shows":
            self._tell(shows=_following(_SHOWS, self.told.shows))
        else:
            self._lists[key]()

    def _pick(self, field: str, choices: tuple[Pickable, ...]) -> None:
        def picked(values: tuple[str, ...] | None) -> None:
            self._tell(**{field: values or ()})

        items = [(choice.value, choice.label) for choice in choices]
        title = text(f"resume.pick-{field}".replace("_", "-"))
        self.app.push_screen(
            PickScreen(
                title, text("resume.tick-each", title=title), items, getattr(self.told, field)
            ),
            picked,
        )

    def _tell(self, **fields: tuple[str, ...] | bool | str | None) -> None:
        self.told = msgspec.structs.replace(self.told, **fields)
        self.query_one(ResumeList).show(self._rows())

    def _leave(self, way: Way) -> None:
        told = self.told
        if self._done and self._proposed is not None and self._proposed.told is not None:
            told = told.with_told(self._proposed.told)
        self.dismiss(Resumed(self._known, told, way))

    def action_go(self) -> None:
        """The next run, of the kind that stands first."""
        self._leave(Way.MEASURE if self._known.complaint in WORKSHEETS else Way.RUN)

    def action_open(self) -> None:
        """The case as it stands."""
        self._leave(Way.OPEN)

    def action_other(self) -> None:
        """Ticket and complaint of another job."""
        self._leave(Way.OTHER)


_ENDS = (None, HowEnded.BY_ITSELF, HowEnded.BY_HAND)
_SHOWS = (None, *WhereShown)
NOT_KNOWN = "not-known"


def _following(answers: Sequence[str | None], now: str | None) -> str | None:
    """The next answer; after the last comes the first again."""
    return answers[(answers.index(now) + 1) % len(answers)]


def _listed(row: str, values: tuple[str, ...], choices: tuple[Pickable, ...]) -> str:
    labels = {choice.value: choice.label for choice in choices}
    listed = ", ".join(labels.get(value, value) for value in values) or text("resume.none")
    return wording.clean(text(f"resume.{row}", listed=listed))
