"""Recording what a repair proved."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import msgspec

from livecheck.case_index.summary import fitted
from livecheck.casefile import CaseFolder, Loaded
from livecheck.learning.lessons import NO_FAULT, SOFTWARE
from livecheck.names import Names
from livecheck.near import near_miss
from livecheck.records import (
    Controller,
    Knowledge,
    Location,
    Outcome,
    Part,
    Place,
    Proved,
    Record,
)
from livecheck.topology.ids import MAINBOARD
from livecheck.wording import text

WORTH_A_LINE: Final = 0.005


class Provable(Record, frozen=True, kw_only=True):
    """Something a repair could have proved."""

    component: str
    kind: str
    name: str
    probability: float | None = None
    """What livecheck gives it; None: it is no candidate."""


class RepairResult(Record, frozen=True, kw_only=True):
    """What came of repairing what was chosen."""

    proved: bool
    """True: the machine is well now, so it was this."""
    recorded: str
    """ISO 8601 UTC."""
    note: str = ""
    keep_open: bool = False
    """The case stays open all the same."""


class Unknown(Exception):
    """The case has no such component, or several that are meant."""


def choices(loaded: Loaded, location: Location, knowledge: Knowledge) -> tuple[Provable, ...]:
    """All that could be recorded for a case, likeliest first, then what was never suspected."""
    names = Names(loaded.runs, knowledge)
    found = {
        c.component: Provable(
            component=c.component,
            kind=c.kind,
            name=names.of(c.component, c.name, c.kind).label,
            probability=c.probability,
        )
        for c in sorted(location.candidates, key=lambda c: -c.probability)
        if c.probability >= WORTH_A_LINE
    }
    for component, kind in ((NO_FAULT, NO_FAULT), (SOFTWARE, SOFTWARE), (MAINBOARD, MAINBOARD)):
        name = text("side.no-fault") if component == NO_FAULT else names.of(component).label
        found.setdefault(component, Provable(component=component, kind=kind, name=name))
    for run in reversed(loaded.runs):
        if run.in_known_good_machine:
            continue
        rows: tuple[Part | Place | Controller, ...] = (
            *run.inventory.parts,
            *run.inventory.places,
            *run.inventory.controllers,
        )
        for row in rows:
            label = names.of(row.id).label
            found.setdefault(row.id, Provable(component=row.id, kind=row.kind, name=label))
    return tuple(found.values())


def choose(component: str, offered: tuple[Provable, ...]) -> Provable:
    """The choice meant: by id, or by a kind that only one of them is of. Raises Unknown."""
    by_id = [choice for choice in offered if choice.component == component]
    found = by_id or [choice for choice in offered if choice.kind == component]
    if len(found) == 1:
        return found[0]
    near_by = "" if found else near_miss(component, [c.component for c in offered])
    why = f"is {'several components' if found else 'no component'} of this case{near_by}"
    raise Unknown(f"{component} {why}; name one of\n{listing(found or offered)}")


def listing(offered: Iterable[Provable]) -> str:
    """Components as lines: what is typed, and what it is called."""
    return "\n".join(f"  {one.component}  ({one.name})" for one in offered)


def still_failing(loaded: Loaded, chosen: Provable) -> str | None:
    """A sentence where the last run has the part that was mended in its place, and failing."""
    own = [run for run in loaded.runs if not run.in_known_good_machine]
    last = own[-1] if own else None
    if last is None or all(part.id != chosen.component for part in last.inventory.parts):
        return None
    failed = (r.outcome is Outcome.FAILED for r in last.readings if r.at == chosen.component)
    return text("repair.still-fails", run=last.number, what=chosen.name) if any(failed) else None


def record_outcome(
    folder: CaseFolder,
    loaded: Loaded,
    location: Location,
    chosen: Provable,
    result: RepairResult,
) -> Proved:
    """Add what a repair proved to its case. Proved at fault closes the case.

    Raises OSError when the drive refuses.
    """
    own = [run for run in loaded.runs if not run.in_known_good_machine]
    outcome = Proved(
        case=loaded.case.id,
        recorded=result.recorded,
        component=chosen.component,
        kind=chosen.kind,
        name=chosen.name,
        proved=result.proved,
        note=result.note,
        complaint=loaded.case.complaint,
        fitted=fitted(own[-1].inventory) if own else {},
        said=location.side,
        said_component=location.component,
        said_probability=location.probability,
    )
    folder.add_proved(outcome)
    if result.proved and not result.keep_open:
        _close(folder, result.recorded, chosen.name, result.note)
    return outcome


def close_unmended(folder: CaseFolder, recorded: str, note: str = "") -> None:
    """Close a case of which nothing was mended: it proves nothing. Raises OSError."""
    _close(folder, recorded, text("repair.not-mended"), note)


def _close(folder: CaseFolder, recorded: str, what: str, note: str) -> None:
    said = ": ".join(filter(None, (what, note)))
    folder.change_case(
        lambda case: msgspec.structs.replace(case, closed=case.closed or recorded, outcome=said)
    )
