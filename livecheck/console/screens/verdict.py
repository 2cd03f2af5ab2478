"""The verdict: a sentence, the next step, the two sides, each line with its evidence."""

from __future__ import annotations

from typing import ClassVar, Final

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

NOTHING_YET: Final = (
    "Nothing is to be ordered as the verdict stands. Put the bar on a component and press O "
    "for the sheet of that one."
)
NOTHING_BARRED: Final = "No step was ruled out in this case, so there is nothing to take back."


class VerdictList(TextList):
    """What all runs of a case say together."""

    HELP = """E, or Enter, shows what stands behind the one under the
bar: readings for and against it, and their raw figures. On the next step, Enter opens
the step with its cautions and what each outcome would mean."""


class VerdictScreen(BenchScreen[None]):
    """What the runs of a case say together."""

    HELP = """# The verdict
The sentence on top is what all runs of this case say together. Do the next step, boot
again, and the case goes on by itself.

G begins what is proposed, where this program can do it itself: a soak, the full tests, the
worksheet, the hand-over; what takes hands ends in a new run. E shows the evidence behind
the line under the bar, T the tree of parts and places, N the next step, O what to order by.
U takes back a step that was ruled out as impossible here. X takes out a run that is no
part of this case, or puts it back.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("g,f12", "do_now", "Do it now"),
        Binding("e,f3", "evidence", "Evidence"),
        Binding("n,f6", "step", "Next step"),
        Binding("t,f4", "tree", "Parts and places"),
        Binding("o,f11", "parts", "Parts sheet"),
        Binding("u", "undo", "Undo"),
        Binding("x", "take_out", "Take out a run", show=False),
        Binding("b,f7", "big", "Big"),
        Binding("m,f8", "more", "More"),
        Binding("r,f5", "app.begin('start-over')", "New run"),
        Binding("c,f2", "app.begin('cases')", "Cases"),
        Binding("p,f9", "app.begin('switch-off')", "Switch off"),
        Binding("q,f10", "app.quit", "Leave"),
    ]

    def __init__(self, case: JudgedCase) -> None:
        super().__init__()
        self.case = case
        self._rows = tuple(verdict_lines.verdict_lines(case))
        self._texts = {row.key: row.text for row in self._rows if row.key is not None}

    def where(self) -> str:
        """The case."""
        loaded = self.case.loaded
        return f"verdict : {wording.clean(f'case {loaded.case.id}, runs: {len(loaded.runs)}')}"

    def body(self) -> ComposeResult:
        """Every line, and what the bar means."""
        rows = [TextRow(wording.clean(row.text), row.key, row.style) for row in self._rows]
        yield VerdictList(rows, "verdict")
        yield Static("Enter shows what stands behind the line under the bar.", classes="text")

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
            self.say(Notice("undo", (NOTHING_BARRED,)))
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
        self.say(PartsView(sheets) if sheets else Notice("parts sheet", (NOTHING_YET,)))

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
