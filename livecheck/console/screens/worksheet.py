"""The bench worksheet: a machine that does not start, measured step by step."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from livecheck import intake, prompts, wording
from livecheck.console.frame import BenchScreen, english_told
from livecheck.console.text_field import PlainField
from livecheck.diagnosis import worksheet
from livecheck.diagnosis import worksheet_words as words
from livecheck.diagnosis.worksheet_table import Filled, Label, Measurement, Worksheet
from livecheck.records import Complaint, Knowledge, ToldLine
from livecheck.worded_forms import measure_choice


class AnswerField(PlainField):
    """The measured value."""

    HELP = "answer-field"


class WorksheetScreen(BenchScreen[Filled | None]):
    """One step at a time: caution, what to do, an answer."""

    HELP = "worksheet"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "next", "next-step"),
        Binding("up", "previous", "step-before"),
        Binding("f6", "judge", "judge-now"),
        Binding("escape", "leave", "leave-the-sheet"),
    ]

    def __init__(
        self,
        complaint: Complaint,
        sheet: Worksheet,
        tables: Knowledge,
        lines: Iterable[ToldLine] = (),
    ) -> None:
        """``lines``: what was told at the counter."""
        super().__init__()
        self._told = intake.cautions(lines, tables.intake)
        self._complaint = complaint
        self._sheet = sheet
        self._tables = tables
        self._supply: str | None = None
        self._label: Label | None = None
        self._index = -2
        """Index of the step asked now; -2: the adapter's plug, -1: its label."""
        self._answers: dict[str, float | str] = {}
        self._typed: dict[str, str] = {}
        """Answers as they were typed, to be seen again on the way back."""

    @property
    def _known_supply(self) -> str | None:
        return self._supply or words.supply_of(self._label, self._sheet)

    @property
    def _steps(self) -> tuple[Measurement, ...]:
        return worksheet.steps(self._complaint, self._sheet, self._known_supply)

    @property
    def _asked(self) -> str:
        """What is asked now: a step's name, or that of the adapter's plug or label."""
        return self._steps[self._index].name if self._index >= 0 else ("plug", "label")[self._index]

    def where(self) -> str:
        """The complaint."""
        return wording.text("where.worksheet", complaint=wording.title(self._complaint))

    def body(self) -> ComposeResult:
        """The step, its cautions, the answer, what was answered so far."""
        with VerticalScroll(id="sheet", can_focus=False):
            yield Static("", id="step", classes="heading", markup=False)
            yield Static("", id="caution", classes="caution", markup=False)
            yield Static("", id="do", classes="text", markup=False)
            yield AnswerField(id="answer", max_length=60)
            yield Static("", id="trouble", classes="text", markup=False)
            yield Static("", id="given", classes="text", markup=False)

    def on_mount(self) -> None:
        """Ask the first question."""
        self._show()
        self.query_one(Input).focus()

    def _show(self) -> None:
        total = len(self._steps)
        cautions: tuple[str, ...]
        if self._index < 0:
            do = wording.text(f"worksheet.{self._asked}")
            title, cautions = wording.text("worksheet.adapter"), ("mains",)
        else:
            step = self._steps[self._index]
            hint = wording.text("worksheet.in", unit=step.unit)
            if step.asks == "choice":
                hint = " / ".join(map(measure_choice, step.choices))
            title = wording.text("worksheet.step", number=self._index + 1, of=total,
                                 title=step.title)  # fmt: skip
            do = f"{step.do}\n{wording.text('worksheet.answer', hint=hint)}"
            cautions = worksheet.cautions(step, self._told)
        given = [f"{s.title}: {prompts.shown(s, self._answers[s.name])}" for s in self._steps
                 if s.name in self._answers]  # fmt: skip
        known = (self._tables.cautions.get(name) for name in cautions)
        texts = {
            "#step": title,
            "#caution": "\n".join(
                wording.text("console.caution", says=caution.text) for caution in known if caution
            ),
            "#do": do,
            "#trouble": "",
            "#given": "\n".join(given),
        }
        for where, text in texts.items():
            self.query_one(where, Static).update(_lines(text))
        field = self.query_one(Input)
        field.value = self._typed.get(self._asked, "")
        field.cursor_position = len(field.value)

    @on(Input.Submitted)
    def _answered(self, event: Input.Submitted) -> None:
        said, asked = event.value.strip(), self._asked
        try:
            self._take(said)
        except words.BadAnswers as error:
            self.query_one("#trouble", Static).update(wording.clean(english_told(str(error))))
            return
        self._typed[asked] = said
        self._index += 1
        if self._index == len(self._steps):
            self.action_judge()
        else:
            self._show()

    def _take(self, said: str) -> None:
        """The answer to what is asked; an empty one takes it back. Raises BadAnswers."""
        if self._index == -2:
            plugs = {plug: wording.text(f"worksheet.{plug}") for plug in prompts.PLUGS}
            self._supply = words.read_supply(prompts.as_saved(said, plugs)) if said else None
        elif self._index == -1:
            self._label = words.read_label(said, self._sheet, self._supply) if said else None
        elif said:
            step = self._steps[self._index]
            named = {choice: measure_choice(choice) for choice in step.choices}
            said = prompts.as_saved(said, named)
            self._answers[step.name] = prompts.read_answer(step, said, self._sheet)
        else:
            self._answers.pop(self._steps[self._index].name, None)

    def action_judge(self) -> None:
        """Judge what was measured so far."""
        filled = Filled(answers=self._answers, label=self._label, supply=self._known_supply)
        self.dismiss(filled)

    def action_previous(self) -> None:
        """The step before once more, as it was answered."""
        self._index = max(-2, self._index - 1)
        self._show()

    def action_leave(self) -> None:
        """Nothing is judged or saved."""
        self.dismiss(None)


def _lines(text: str) -> str:
    """Text of several lines, each cleaned."""
    return "\n".join(wording.clean(line) for line in text.splitlines())
