"""The verdict: a sentence, the next step, the two sides, each line with its evidence."""

from __future__ import annotations

from typing import ClassVar, Final

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from livecheck import wording
from livecheck.console import claims
from livecheck.console.claims import Case
from livecheck.console.frame import BenchScreen, Lines, Row
from livecheck.records import Side

NOTHING_YET: Final = (
    "Nothing is to be ordered as the verdict stands. Put the bar on a component and press O "
    "for the sheet of that one."
)


class ClaimList(Lines):
    """What is claimed."""

    HELP = """Each line is a claim. E, or Enter, shows what stands behind the one under the
bar: readings for and against it, and their raw figures. On the next step, Enter opens
the step with its cautions and what each outcome would mean."""


class VerdictScreen(BenchScreen[None]):
    """What the runs of a case say together."""

    HELP = """# The verdict
The sentence on top is what all runs of this case say together. Do the next step, boot
again, and the case goes on by itself.

E shows the evidence behind the line under the bar, T the tree of parts and places, N the
next step, O what to order by.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("e,f3", "evidence", "Evidence"),
        Binding("n,f6", "step", "Next step"),
        Binding("t,f4", "tree", "Parts and places"),
        Binding("o,f11", "parts", "Parts sheet"),
        Binding("b,f7", "big", "Big"),
        Binding("m,f8", "app.more", "More"),
        Binding("r,f5", "app.start_over", "New run"),
        Binding("c,f2", "app.cases", "Cases"),
        Binding("p,f9", "app.power_off", "Switch off"),
        Binding("q,f10", "app.quit", "Leave"),
    ]

    def __init__(self, case: Case) -> None:
        super().__init__()
        self.case = case
        self._claims = {c.key: c.text for c in claims.claims(case) if c.key is not None}

    def where(self) -> str:
        """The case."""
        loaded = self.case.loaded
        return f"verdict : {wording.clean(f'case {loaded.case.id}, runs: {len(loaded.runs)}')}"

    def body(self) -> ComposeResult:
        """Every claim, and what the bar means."""
        rows = [Row(wording.clean(c.text), c.key, c.style) for c in claims.claims(self.case)]
        yield ClaimList(rows, "verdict")
        yield Static("Enter shows what stands behind the line under the bar.", classes="text")

    def on_mount(self) -> None:
        """The bar on the verdict."""
        self.query_one(ClaimList).focus()
        self.query_one(ClaimList).highlighted = 0

    @on(Lines.OptionSelected)
    def _opened(self, event: Lines.OptionSelected) -> None:
        if event.option.id == claims.STEP:
            self.action_step()
        else:
            self.action_evidence()

    def action_evidence(self) -> None:
        """Show what stands behind the line under the bar."""
        from livecheck.console.screens.evidence import EvidenceScreen

        key = self.query_one(ClaimList).chosen or claims.VERDICT
        self.app.push_screen(EvidenceScreen(self._claims[key], claims.behind(self.case, key)))

    def action_step(self) -> None:
        """Show the next step whole."""
        from livecheck.console.screens.step import StepScreen

        self.app.push_screen(StepScreen(self.case))

    def action_tree(self) -> None:
        """Show the tree of parts and places."""
        from livecheck.console.screens.tree import TreeScreen

        self.app.push_screen(TreeScreen(self.case))

    def action_parts(self) -> None:
        """What to order by; for a component under the bar, its own sheet."""
        from livecheck import partssheet
        from livecheck.console.screens.parts import PartsScreen
        from livecheck.console.screens.pick import TellScreen
        from livecheck.partssheet.sheet import sheet_of

        case = self.case
        loaded, found = case.loaded, case.location
        sort, _, component = (self.query_one(ClaimList).chosen or "").partition(":")
        meant = [c for c in found.candidates if sort == "component" and c.component == component]
        sheets = tuple(
            sheet_of(loaded.case, loaded.runs, c, case.tables) for c in meant
        ) or partssheet.sheets(loaded.case, loaded.runs, found, case.tables)
        if sheets:
            self.app.push_screen(PartsScreen(sheets))
        else:
            self.app.push_screen(TellScreen("parts sheet", (NOTHING_YET,)))

    def action_big(self) -> None:
        """Readable across the bench."""
        from livecheck.console.screens.big import BigScreen

        words = big_words(self.case)
        self.app.push_screen(BigScreen(lambda: words))


def big_words(case: Case) -> list[str]:
    """The verdict in a few words, and the next step."""
    found = case.location
    lead = found.candidates[0] if found.candidates else None
    if found.side in (Side.UNDETERMINED, Side.NO_FAULT) or lead is None:
        words = [wording.title(found.side)]
    else:
        unit = wording.kind_title(found.unit or lead.unit, case.tables)
        words = [wording.title(found.side), f"{unit} {found.probability:.0%}"]
    if found.next_step is not None:
        target = case.names.of(found.next_step.target).kind_title
        words.append(f"> {found.next_step.action}: {target}")
    return words
