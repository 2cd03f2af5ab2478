"""A machine that was here before: what changed by itself, and one question."""

from __future__ import annotations

from collections.abc import Callable
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

NO_MACHINE = "no known-good machine"


class ResumeList(TextList):
    """The one question."""

    HELP = """Parts that carry a number are recognised by themselves; only what no sensor
can tell is asked. Enter on the first line starts the run, on the others it opens a list
to tick. Whatever is ticked stands behind its line.

"Done as proposed" tells of the step that was proposed last, where no sensor sees it.

Where the last start was cut off, say whether somebody did it: a machine that nobody
touched tells far more. Where the complaint shows, inside or outside the installed
system, parts software from hardware. Enter changes these lines.

"Taken out and put back" is for a part that was reseated. "Known-good" is for a part
the shop vouches for. "No spare" rules a step out for this case, and another one is
proposed."""


class ResumeScreen(BenchScreen[Resumed]):
    """The case goes on."""

    WHERE = "here before"
    HELP = """# Here before
This machine, or this ticket, has an open case. What changed since its last run stands
on top, found by the numbers the parts carry. Say what else was done, then start the
next run with Enter on the first line.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("s,f5", "go", "Start the run"),
        Binding("space", "tick", "Tick, change", show=False),
        Binding("v,f3", "open", "Last verdict"),
        Binding("n,escape", "other", "Another job"),
        Binding("c,f2", "app.begin('cases')", "Cases"),
        Binding("p,f9", "app.begin('switch-off')", "Switch off"),
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
        return f"here before : case {wording.clean(self._known.case)}"

    def body(self) -> ComposeResult:
        """What changed, what was proposed, the question."""
        with VerticalScroll(id="resume", can_focus=False):
            yield Static("\n".join(self._changes()), id="before", markup=False, classes="text")
            yield self._said
        yield Static("Anything else changed?", classes="heading", markup=False)
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
        words = [f"So far: {said.sentence}"]
        if said.step is not None:
            words.append(f"Proposed was: {said.step}")
        self._said.update("\n".join(map(wording.clean, words)))

    def _changes(self) -> list[str]:
        known = self._known
        ticket = f", ticket {known.ticket}" if known.ticket else ""
        runs = wording.clean(f"{wording.title(known.complaint)}; runs so far: {known.runs}")
        lines = [f"Known here: case {wording.clean(known.case + ticket)}: {runs}."]
        if known.cut_off:
            lines.append("The last run was cut off before its end (power cut, or switched off).")
        if known.stopped:
            lines.append("The last run was stopped by the technician before its end.")
        if known.complaint in WORKSHEETS and not known.same_machine:
            lines.append("It was measured at the bench: what machine it is was not read.")
        elif not known.same_machine:
            lines.append("The board on the bench is NOT the one this case was opened with.")
        elif known.changes:
            lines.append("Changed since the last run:")
            lines += [f"- {wording.clean(change)}" for change in known.changes]
        elif known.runs:
            lines.append("No part that carries a number changed since the last run.")
        return lines + [f"DAMAGED RECORD {wording.clean(one)}" for one in known.damaged]

    def _rows(self) -> list[TextRow]:
        told, looked = self.told, self._looked
        number = self._known.number
        rows = [TextRow(f"Nothing else: start run {number}", Way.RUN)]
        if self._known.complaint in WORKSHEETS:
            rows = [
                TextRow("It still does not start: measure at the bench again", Way.MEASURE),
                TextRow(f"It starts now, and this is it: start run {number}", Way.RUN),
            ]
        if (proposed := self._proposed) is not None and proposed.told is not None:
            tick = "x" if self._done else " "
            words = f"[{tick}] Done as proposed: {proposed.step}"
            rows.append(TextRow(wording.clean(words), "done"))
        if self._known.cut_off:
            rows.append(TextRow(f"How the last start ended: {_ENDS[told.ended]}", "ended"))
        if self._known.complaint not in WORKSHEETS:
            rows.append(TextRow(f"Where the complaint shows: {_SHOWS[told.shows]}", "shows"))
        rows += [
            TextRow(_listed("Taken out and put back", told.reseated, looked.places), "reseated"),
            TextRow(
                _listed("Known-good part fitted", told.known_good, looked.numbered), "known_good"
            ),
        ]
        if looked.unnumbered:
            words = "Part without a number exchanged for a known-good one"
            rows.append(TextRow(_listed(words, told.spares, looked.unnumbered), "spares"))
            words = "Part without a number: the first one is back"
            rows.append(TextRow(_listed(words, told.returned, looked.unnumbered), "returned"))
        words = "Cleaned, re-flashed, repaired or replaced"
        rows.append(TextRow(_listed(words, told.treated, looked.treated), "treated"))
        tick = "x" if told.in_known_good_machine else " "
        rows += [
            TextRow(
                f"[{tick}] This is a known-good machine with the suspect part in it", "elsewhere"
            ),
            TextRow(_listed("Cannot be done at this bench", told.cannot, self._steps()), "cannot"),
            TextRow("Another job: its own ticket and complaint", Way.OTHER),
        ]
        return rows

    def _steps(self) -> tuple[Pickable, ...]:
        spares = (
            Pickable(f"no spare: {kind.value}", f"No spare: {kind.label}")
            for kind in self._looked.kinds
        )
        return (*spares, Pickable(NO_MACHINE, "No known-good machine to test parts in"))

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
        title = _TITLES[field]
        self.app.push_screen(
            PickScreen(title, f"{title}: tick each.", items, getattr(self.told, field)), picked
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


_ENDS: dict[str | None, str] = {
    None: "not known",
    HowEnded.BY_ITSELF: "by itself, nobody touched it",
    HowEnded.BY_HAND: "somebody switched it off",
}
_SHOWS: dict[str | None, str] = {None: "not known", **{w: w for w in WhereShown}}


def _following(words: dict[str | None, str], now: str | None) -> str | None:
    """The next answer; after the last comes the first again."""
    keys = list(words)
    return keys[(keys.index(now) + 1) % len(keys)]


_TITLES = {
    "reseated": "Taken out and put back",
    "known_good": "Known-good parts that are fitted now",
    "spares": "Exchanged for a known-good part",
    "returned": "The machine's first part is back",
    "treated": "Cleaned, re-flashed, repaired or replaced",
    "cannot": "Cannot be done at this bench",
}


def _listed(title: str, values: tuple[str, ...], choices: tuple[Pickable, ...]) -> str:
    labels = {choice.value: choice.label for choice in choices}
    return wording.clean(f"{title}: {', '.join(labels.get(v, v) for v in values) or 'none'}")
