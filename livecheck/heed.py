"""Cautions: one order for report, console and command line, the data first. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from livecheck import intake
from livecheck.diagnosis.worksheet_machine import assumed
from livecheck.records import (
    Case,
    Caution,
    Knowledge,
    LookedInside,
    NextStep,
    Outcome,
    Reading,
    Run,
    ToldLine,
)
from livecheck.records.tables import LOCKED, MEDIUM
from livecheck.told_findings import DRIVE_NOISE
from livecheck.wording import text

DATA: Final = "data"
"""What is lost cannot be bought again, so this one is read first."""
RISK: Final = "risk"
HEARD: Final = "heard"
IN_DANGER: Final = (RISK, HEARD)
"""They are copied before anything else is done."""
DEAD: Final = "dead"
WITHHELD: Final = "withheld"
MUTE: Final = ("storage.answers", "storage.port-answers", LOCKED)
"""Checks that fail where a drive gives out nothing."""
FLASH: Final = "kernel.mmc"
"""Of soldered flash it tells of sectors; of a slot it tells of any card."""


def cautions(step: NextStep, tables: Knowledge) -> tuple[Caution, ...]:
    """What to mind in a step."""
    return in_order(step.cautions, tables)


def in_order(names: Iterable[str], tables: Knowledge) -> tuple[Caution, ...]:
    """Cautions by their names, the data first."""
    return tuple(_known(name, tables) for name in sorted(names, key=lambda name: name != DATA))


def told(lines: Iterable[ToldLine], tables: Knowledge) -> tuple[Caution, ...]:
    """What to mind because of what was told and seen when it came in."""
    return tuple(_known(name, tables) for name in intake.cautions(lines, tables.intake))


def standing(
    case: Case, runs: Sequence[Run], tables: Knowledge, step: NextStep | None
) -> tuple[Caution, ...]:
    """What to mind whatever is done next, beside the cautions of the step: the data first."""
    if case.closed:
        return ()
    own = step.cautions if step is not None else ()
    risk = data_in(runs, tables) in IN_DANGER and intake.data_wanted(case.told)
    names = [DATA] if risk else []
    found = (*(_known(name, tables) for name in names), *told(case.told, tables))
    opened = any(LookedInside() in run.answers for run in runs)
    return tuple(
        one for one in found if one.name not in own and not (opened and one.until_opened)
    )  # fmt: skip


def rescue(case: Case, runs: Sequence[Run], tables: Knowledge) -> str | None:
    """How to copy a drive that fails, or one in a dead machine, while its data are wanted."""
    if case.closed or not intake.data_wanted(case.told):
        return None
    offers = dict.fromkeys(IN_DANGER, "rescue.offer") | {DEAD: "rescue.dead"}
    key = offers.get(data_in(runs, tables))
    return text(key, case=case.id) if key is not None else None


def data_in(runs: Sequence[Run], knowledge: Knowledge) -> str:
    """What is known of the customer's data, by what was last said of each drive.

    ``risk``: one did not give back what was written; ``out``: that one is out of the machine;
    ``heard``: one clicks or scratches; ``withheld``: one gives out nothing; ``dead``: the
    machine never started, so that nobody could ask; else ``fine`` or ``untested``.
    """
    own = sorted((r for r in runs if not r.in_known_good_machine), key=lambda r: r.number)
    last: dict[tuple[str, str, str], Outcome] = {}
    for run in own:
        shops = {p.id for p in run.inventory.parts if p.bench_own or p.identity in _lent(own)}
        for one in run.readings:
            said = _of_data(one, run, knowledge)
            if said and one.outcome is not Outcome.NOT_JUDGED and one.at not in shops:
                last[said, one.at, one.check] = one.outcome
    failed = {(said, at) for (said, at, _), how in last.items() if how is Outcome.FAILED}
    there = {part.id for part in own[-1].inventory.parts} if own else set()
    lost = {at for said, at in failed if said == RISK}
    if lost:
        return "out" if there and lost.isdisjoint(there) else RISK
    if failed:
        return HEARD if any(said == HEARD for said, _ in failed) else WITHHELD
    if any(said == RISK for said, _, _ in last):
        return "fine"
    return DEAD if own and all(assumed(run.inventory) for run in own) else "untested"


def _lent(runs: Sequence[Run]) -> set[str | None]:
    return {identity for run in runs for identity in run.known_good}


def _of_data(reading: Reading, run: Run, knowledge: Knowledge) -> str | None:
    """What a failed reading says of the data: lost, in doubt, not given out; None: nothing."""
    if reading.check == DRIVE_NOISE:
        return HEARD
    check = knowledge.checks.get(reading.check)
    if reading.check in MUTE:
        return WITHHELD
    drives = (p.id for p in run.inventory.parts if p.kind == "drive")
    flash = reading.check == FLASH and reading.at in drives
    return RISK if flash or (check is not None and check.symptom_group == MEDIUM) else None


def _known(name: str, tables: Knowledge) -> Caution:
    # A name without a text is still a warning, so it is shown rather than dropped.
    unknown = Caution(name=name, text=text("cautions.unknown", name=name), source="")
    return tables.cautions.get(name) or unknown
