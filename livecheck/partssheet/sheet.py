"""From a case and its verdict to the sheets of what to order. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck import heed
from livecheck.partssheet import facts
from livecheck.partssheet.table import worded
from livecheck.records import Candidate, Case, Caution, Knowledge, Location, Record, Run
from livecheck.topology.ids import CONTACT, FIRMWARE, HUNG, SETTING, SOFTWARE
from livecheck.wording import clean, kind_title, text

SURE: Final = 0.9
"""Beside the verdict, only a fault this probable is one to order for."""
NEVER_ORDERED: Final = (CONTACT, SOFTWARE, FIRMWARE, HUNG, SETTING, "no-fault")
"""Units that are put right rather than bought."""


class TraitLine(Record, frozen=True, kw_only=True):
    """One trait."""

    label: str
    value: str | None
    """None: no run knows it."""
    must: bool
    """True: a part without it does not fit or does not work."""
    ask: str


class PartsSheet(Record, frozen=True, kw_only=True):
    """What to search and match by for one unit."""

    kind: str
    unit: str
    """Its title."""
    for_case: str
    ticket: str | None
    machine: str
    lines: tuple[TraitLine, ...]
    warnings: tuple[str, ...]
    cautions: tuple[Caution, ...]

    @property
    def code(self) -> str:
        """The short text for the QR code: what is known, a line a trait."""
        known = (line for line in self.lines if line.value)
        head = [self.unit, *([self.ticket] if self.ticket else [])]
        return "\n".join([" ".join(head), *(f"{line.label}: {line.value}" for line in known)])

    @property
    def text(self) -> str:
        """The whole sheet as plain text."""
        head = text("parts.order", unit=self.unit)
        lines = [head, text("parts.machine", machine=self.machine, case=self.for_case), ""]
        for line in self.lines:
            mark = text("parts.must") if line.must else text("parts.may")
            value = line.value or text("parts.read-off", ask=line.ask)
            lines.append(f"[{mark}] {line.label}: {value}")
        lines += ["", *self.warnings, *(f"{text('parts.caution')} {c.text}" for c in self.cautions)]
        return "\n".join(clean(line) for line in lines)


def sheets(
    case: Case, runs: Sequence[Run], location: Location, knowledge: Knowledge
) -> tuple[PartsSheet, ...]:
    """A sheet for each unit to order; none while nothing is to be ordered."""
    wanted: dict[str, str | None] = {}
    if location.unit is not None:
        wanted[location.unit] = location.component
    for candidate in location.candidates:
        if location.unit is not None and candidate.probability >= SURE:
            wanted.setdefault(candidate.unit, candidate.component)
    return tuple(
        _sheet(case, runs, kind, component, knowledge)
        for kind, component in wanted.items()
        if kind not in NEVER_ORDERED
    )


def sheet_of(
    case: Case, runs: Sequence[Run], candidate: Candidate, knowledge: Knowledge
) -> PartsSheet:
    """The sheet for one candidate, whatever the verdict."""
    return _sheet(case, runs, candidate.unit, candidate.component, knowledge)


def _sheet(
    case: Case, runs: Sequence[Run], kind: str, component: str | None, knowledge: Knowledge
) -> PartsSheet:
    own = sorted((run for run in runs if not run.in_known_good_machine), key=lambda run: run.number)
    seen = facts.gather(case, own, kind, component)
    rows = worded(kind)
    lines = tuple(
        TraitLine(label=t.label, value=facts.first(t, seen), must=t.must, ask=t.ask)
        for t in rows.traits
    )
    return PartsSheet(
        kind=kind,
        unit=kind_title(kind, knowledge),
        for_case=case.id,
        ticket=case.ticket,
        machine=facts.machine_name(case, own),
        lines=lines,
        warnings=rows.warnings,
        cautions=heed.in_order(rows.cautions, knowledge),
    )
