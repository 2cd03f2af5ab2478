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

    HELP = """# The next step
Do the step with the machine switched off, unless it says otherwise; then boot again. The
stick knows the machine, or the ticket, and the case goes on with what changed.

G begins it where this program can do it itself. I rules the step out when this bench
cannot do it (no spare, no second machine): another one is proposed at once, and the case
remembers. P switches the machine off for the work.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p,f9", "app.begin('switch-off')", "Switch off to do it"),
        Binding("i,f6", "rule_out", "Impossible here"),
        Binding("g,f12", "do_now", "Do it now"),
        Binding("d,f5", "app.begin('start-over')", "Done without switching off"),
        Binding("b,f7", "big", "Big"),
        Binding(f"{BACK_KEYS},n", "app.pop_screen", "Back"),
    ]

    def __init__(self, case: JudgedCase) -> None:
        super().__init__()
        self._case = case

    def where(self) -> str:
        """The case."""
        return f"next step : case {wording.clean(self._case.loaded.case.id)}"

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
            return [TextRow("Nothing is left to do: the verdict stands as it is.")]
        rows = [
            TextRow(wording.clean(c), style="caution") for c in verdict_lines.cautions(case, step)
        ]
        rows.append(TextRow(wording.clean(verdict_lines.step_words(case, step))))
        if step.to is not None:
            rows.append(TextRow(wording.clean(f"At: {case.names.target(step.to)}")))
        rows += [TextRow(wording.clean(f"With: {case.names.target(part)}")) for part in step.parts]
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
