"""The verdict: a sentence, the two sides, the next step and what each outcome means."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Footer, Static

from livecheck import wording
from livecheck.casefile import Loaded
from livecheck.console.frame import TitleLine
from livecheck.records import Candidate, Knowledge, Location, NextStep, Outcome, Side
from livecheck.report.names import Names

FAINT = 0.01
"""Candidates below this probability are left to the report."""


class VerdictScreen(Screen[None]):
    """What the runs of a case say together."""

    HELP = """# The verdict
The sentence on top is what all runs of this case say together. **F3** shows the
evidence behind it, **F4** the tree of parts and places. Do the next step, boot
again, and the case goes on by itself.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "evidence", "Evidence"),
        Binding("f4", "tree", "Parts and places"),
        Binding("f2", "app.cases", "Cases"),
        Binding("f5", "app.start_over", "New run"),
        Binding("f10", "app.quit", "Leave"),
    ]

    def __init__(
        self, loaded: Loaded, location: Location, knowledge: Knowledge, report: str
    ) -> None:
        super().__init__()
        self.loaded = loaded
        self.location = location
        self.knowledge = knowledge
        self._report = report

    def compose(self) -> ComposeResult:
        where = f"case {self.loaded.case.id}, runs: {len(self.loaded.runs)}"
        yield TitleLine(f"verdict : {wording.clean(where)}")
        with VerticalScroll(id="verdict"):
            yield Static(wording.clean(self.location.sentence), classes="verdict", markup=False)
            for words, style in self._paragraphs():
                yield Static(words, classes=style, markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#verdict").focus()

    def action_evidence(self) -> None:
        """Show the readings behind the verdict."""
        from livecheck.console.screens.details import EvidenceScreen

        self.app.push_screen(EvidenceScreen(self.location))

    def action_tree(self) -> None:
        """Show the tree of the last run."""
        from livecheck.console.screens.details import TreeScreen

        if self.loaded.runs:
            self.app.push_screen(TreeScreen(self.loaded.runs[-1]))

    def _paragraphs(self) -> Iterator[tuple[str, str]]:
        for sentence in self.location.explanation:
            yield wording.clean(sentence), "text"
        step = self.location.next_step
        if step is not None:
            yield "NEXT STEP", "heading"
            yield from self._step(step)
        yield "DEVICE SIDE (parts that can be swapped)", "heading"
        yield self._side(Side.DEVICE), "text"
        yield "CONTROLLER SIDE (what stays: place, controller, mainboard)", "heading"
        yield self._side(Side.CONTROLLER), "text"
        for damaged in self.loaded.damaged:
            yield f"DAMAGED RECORD {wording.clean(damaged)} (left as it is)", "text"
        yield self._untested(), "text"
        yield f"Report: {wording.clean(self._report)}", "text"

    def _step(self, step: NextStep) -> Iterator[tuple[str, str]]:
        target = Names(self.loaded.runs, self.knowledge).target(step.target)
        yield (
            wording.clean(f"{step.action}: {target} ({wording.minutes(step.minutes)}). {step.why}"),
            "text",
        )
        for name in step.cautions:
            caution = self.knowledge.cautions.get(name)
            if caution is not None:
                yield f"CAUTION: {caution.text}", "caution"
        for outcome in step.outcomes:
            share = wording.percent(outcome.probability)
            yield wording.clean(f"- {outcome.result} ({share}): {outcome.means}"), "text"

    def _side(self, side: Side) -> str:
        shown = [
            candidate
            for candidate in self.location.candidates
            if candidate.side is side and candidate.probability >= FAINT
        ]
        return "\n".join(_candidate(c) for c in shown) or "No sign of a fault on this side."

    def _untested(self) -> str:
        run = self.loaded.runs[-1] if self.loaded.runs else None
        if run is None:
            return "No run is saved in this case yet."
        unjudged = sum(r.outcome is Outcome.NOT_JUDGED for r in run.readings)
        missed = len(run.not_tested)
        return f"Not judged: {unjudged} readings. Not tested: {missed} things. The report says why."


def _candidate(candidate: Candidate) -> str:
    share = wording.percent(candidate.probability)
    return wording.clean(f"{share:>6}  {candidate.name or candidate.component}")
