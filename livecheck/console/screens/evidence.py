"""Behind a claim: the readings that speak for and against it, down to the raw figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from livecheck import wording
from livecheck.console.frame import BACK_KEYS, BenchScreen, english_told
from livecheck.console.text_list import TextList, TextRow
from livecheck.console.views import ReadingView
from livecheck.records import Outcome, Reading

if TYPE_CHECKING:
    from livecheck.console.evidence_lines import Proof


class ProofList(TextList):
    """Readings behind a claim."""

    HELP = "proof-list"


class EvidenceScreen(BenchScreen[None]):
    """Every reading that bears on one claim."""

    WHERE = "evidence"
    HELP = "evidence"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "raw-figures"),
        Binding(f"{BACK_KEYS},e,f3", "app.pop_screen", "back"),
    ]

    def __init__(self, claim: str, proofs: Sequence[Proof]) -> None:
        super().__init__()
        self._claim = claim
        self._proofs = tuple(proofs)

    def body(self) -> ComposeResult:
        """The claim, the readings."""
        with VerticalScroll(id="claim", can_focus=False):
            yield Static(wording.clean(self._claim), markup=False, classes="text")
        rows = [TextRow(wording.clean(proof.text), str(i)) for i, proof in enumerate(self._proofs)]
        yield ProofList(rows, "evidence")

    def on_mount(self) -> None:
        """The bar on the heaviest."""
        self.query_one(ProofList).focus()
        self.query_one(ProofList).highlighted = 0

    @on(TextList.OptionSelected)
    def _opened(self, event: TextList.OptionSelected) -> None:
        proof = self._proofs[int(event.option.id or 0)]
        if proof.reading is not None:
            self.say(ReadingView(wording.runs((proof.run or 0,)), proof.reading))


class ReadingScreen(BenchScreen[None]):
    """One reading, whole."""

    HELP = "reading"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(f"{BACK_KEYS},enter", "app.pop_screen", "back"),
    ]

    def __init__(self, where: str, reading: Reading) -> None:
        super().__init__()
        self._run = where
        self._reading = reading

    def where(self) -> str:
        """The check."""
        return wording.text(
            "where.reading", check=wording.clean(self._reading.check), run=self._run
        )

    def body(self) -> ComposeResult:
        """Every field that says something."""
        with VerticalScroll(id="reading"):
            for line in self._lines():
                yield Static(wording.clean(line), markup=False, classes="text")

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#reading").focus()

    def _lines(self) -> Iterator[str]:
        reading = self._reading
        yield reading.says or reading.check
        yield wording.text("reading.outcome", says=wording.title(reading.outcome))
        if reading.outcome is Outcome.NOT_JUDGED and reading.why_not:
            yield wording.text("reading.why-not", says=english_told(reading.why_not))
        if reading.value is not None:
            value = english_told(wording.quantity(reading.value, reading.unit))
            yield wording.text("reading.value", says=value)
        device = f" ({reading.device})" if reading.device else ""
        yield wording.text("reading.at", says=f"{reading.at}{device}")
        if reading.source:
            yield wording.text("reading.source", says=reading.source)
        if reading.conditions:
            yield wording.text("reading.conditions", says=", ".join(reading.conditions))
        yield from (f"  {detail}" for detail in reading.details)
