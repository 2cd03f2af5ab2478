"""The verdict: a sentence, the next step, the two sides, each line with its evidence."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from livecheck import partssheet, wording
from livecheck.console import line_kinds, verdict_lines
from livecheck.console.events import StepRuledOut, Task, TaskWanted
from livecheck.console.evidence_lines import behind
from livecheck.console.frame import BenchScreen
from livecheck.console.judged_case import JudgedCase
from livecheck.console.text_list import TextList, TextRow
from livecheck.console.views import BigView, EvidenceView, Notice, PartsView, StepView, TreeView
from livecheck.partssheet import PartsSheet
from livecheck.partssheet.sheet import sheet_of


class VerdictList(TextList):
    """What all runs of a case say together."""

    HELP = "verdict-list"


class VerdictScreen(BenchScreen[None]):
    """What the runs of a case say together."""

    HELP = "verdict"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("g,f12", "do_now", "do-it-now"),
        Binding("e,f3", "evidence", "evidence"),
        Binding("n,f6", "step", "next-step"),
        Binding("t,f4", "tree", "parts-and-places"),
        Binding("o,f11", "parts", "parts-sheet"),
        Binding("u", "undo", "undo"),
        Binding("x", "take_out", "take-out-a-run", show=False),
        Binding("b,f7", "big", "big"),
        Binding("m,f8", "more", "more"),
        Binding("r,f5", "app.begin('start-over')", "new-run"),
        Binding("c,f2", "app.begin('cases')", "cases"),
        Binding("p,f9", "app.begin('switch-off')", "switch-off"),
        Binding("q,f10", "app.quit", "leave"),
    ]

    def __init__(self, case: JudgedCase) -> None:
        super().__init__()
        self.case = case
        self._rows = tuple(verdict_lines.verdict_lines(case))
        self._texts = {row.key: row.text for row in self._rows if row.key is not None}

    def where(self) -> str:
        """The case."""
        loaded = self.case.loaded
        case = wording.clean(loaded.case.id)
        return wording.text("where.verdict", case=case, runs=len(loaded.runs))

    def body(self) -> ComposeResult:
        """Every line, and what the bar means."""
        rows = [TextRow(wording.clean(row.text), row.key, row.style) for row in self._rows]
        yield VerdictList(rows, "verdict")
        yield Static(wording.text("verdict.enter"), classes="text")

    def on_mount(self) -> None:
        """The bar on the first line that has something behind it."""
        self.query_one(VerdictList).focus()
        keys = [row.key is not None for row in self._rows]
        self.query_one(VerdictList).highlighted = keys.index(True)

    @on(TextList.OptionSelected)
    def _opened(self, event: TextList.OptionSelected) -> None:
        kind, _, rest = (event.option.id or "").partition(":")
        if event.option.id == line_kinds.STEP:
            self.action_step()
        elif kind == line_kinds.WAY and rest in (Task.HAND_OVER, Task.OUTCOME):
            self.say(TaskWanted(Task(rest), self.case))
        else:
            self.action_evidence()

    def action_evidence(self) -> None:
        """Show what stands behind the line under the bar."""
        key = self.query_one(VerdictList).chosen or line_kinds.VERDICT
        self.say(EvidenceView(self._texts[key], tuple(behind(self.case, key))))

    def action_do_now(self) -> None:
        """Begin what is proposed."""
        self.say(TaskWanted(Task.DO_NOW, self.case))

    def action_undo(self) -> None:
        """Take back that a step cannot be done here: the one under the bar, else the last."""
        kind, _, rule = (self.query_one(VerdictList).chosen or "").partition(":")
        rules = self.case.loaded.case.cannot
        chosen = rule if kind == line_kinds.BARRED else rules[-1] if rules else None
        if chosen is None:
            self.say(Notice(wording.text("where.undo"), (wording.text("verdict.nothing-barred"),)))
        else:
            self.say(StepRuledOut(self.case, chosen, back=True))

    def action_step(self) -> None:
        """Show the next step whole."""
        self.say(StepView(self.case))

    def action_tree(self) -> None:
        """Show the tree of parts and places."""
        self.say(TreeView(self.case))

    def action_parts(self) -> None:
        """What to order by; for a component under the bar, its own sheet."""
        sheets = sheets_of(self.case, self.query_one(VerdictList).chosen or "")
        none = (wording.text("verdict.nothing-to-order"),)
        self.say(PartsView(sheets) if sheets else Notice(wording.text("where.parts-sheet"), none))

    def action_more(self) -> None:
        """What can be done besides a run."""
        self.say(TaskWanted(Task.MORE, self.case))

    def action_take_out(self) -> None:
        """A run is no part of the case, or is one after all."""
        self.say(TaskWanted(Task.TAKE_OUT, self.case))

    def action_big(self) -> None:
        """Readable across the bench."""
        words = verdict_lines.big_words(self.case)
        self.say(BigView(lambda: words))


def sheets_of(case: JudgedCase, key: str) -> tuple[PartsSheet, ...]:
    """Parts sheets: of the component a line of the verdict is about, else of all to order."""
    loaded, found = case.loaded, case.location
    kind, _, component = key.partition(":")
    meant = [c for c in found.candidates if kind == "component" and c.component == component]
    own = tuple(sheet_of(loaded.case, loaded.runs, c, case.tables) for c in meant)
    return own or partssheet.sheets(loaded.case, loaded.runs, found, case.tables)
