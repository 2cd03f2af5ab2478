"""The next step: its cautions first, what to do, what each outcome would mean."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from livecheck import wording
from livecheck.console import line_kinds, verdict_lines
from livecheck.console.events import StepRuledOut, Task, TaskWanted
from livecheck.console.evidence_lines import behind
from livecheck.console.frame import BACK_KEYS, BenchScreen
from livecheck.console.text_list import TextList, TextRow
from livecheck.console.views import BigView

if TYPE_CHECKING:
    from livecheck.console.judged_case import JudgedCase


class StepScreen(BenchScreen[None]):
    """One step, whole."""

    HELP = "step"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p,f9", "app.begin('switch-off')", "switch-off-to-do-it"),
        Binding("i,f6", "rule_out", "impossible-here"),
        Binding("g,f12", "do_now", "do-it-now"),
        Binding("d,f5", "app.begin('start-over')", "done-without-switching-off"),
        Binding("b,f7", "big", "big"),
        Binding(f"{BACK_KEYS},n", "app.pop_screen", "back"),
    ]

    def __init__(self, case: JudgedCase) -> None:
        super().__init__()
        self._case = case

    def where(self) -> str:
        """The case."""
        return wording.text("where.next-step", case=wording.clean(self._case.loaded.case.id))

    def body(self) -> ComposeResult:
        """Cautions, step, reasons."""
        yield TextList(self._rows(), "step")

    def on_mount(self) -> None:
        """Let the arrow keys move."""
        lines = self.query_one(TextList)
        lines.focus()
        lines.action_first()

    def _rows(self) -> list[TextRow]:
        case, step = self._case, self._case.next_step
        if step is None:
            return [TextRow(wording.text("next-step.none"))]
        rows = [
            TextRow(wording.clean(c), style="caution") for c in verdict_lines.cautions(case, step)
        ]
        rows.append(TextRow(wording.clean(verdict_lines.step_words(case, step))))
        if step.to is not None:
            at = wording.text("next-step.at", place=case.names.target(step.to))
            rows.append(TextRow(wording.clean(at)))
        parts = (wording.text("next-step.with", part=case.names.target(one)) for one in step.parts)
        rows += [TextRow(wording.clean(part)) for part in parts]
        rows += [TextRow(wording.clean(p.text)) for p in behind(case, line_kinds.STEP)]
        return rows

    def action_do_now(self) -> None:
        """Begin it, where this program can do it itself."""
        self.say(TaskWanted(Task.DO_NOW, self._case))

    def action_rule_out(self) -> None:
        """This bench cannot do it."""
        step = self._case.next_step
        if step is not None:
            self.say(StepRuledOut(self._case, self._case.rule_of(step)))

    def action_big(self) -> None:
        """Readable across the bench."""
        words = verdict_lines.big_words(self._case)
        self.say(BigView(lambda: words[-1:]))
