"""The swap table: which part was in which place in which run, and what each run showed."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from livecheck.names import Named, Names
from livecheck.records import Location, Outcome, Presence, Reading, Run, Swap
from livecheck.worded import table_word
from livecheck.wording import count, text, title

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Marks for parts; I and O read like digits."""


class Cell(msgspec.Struct, frozen=True, kw_only=True):
    """One place in one run."""

    mark: str = ""
    part: Named | None = None
    where: str = ""
    """Set when the part was tested elsewhere: in which place there."""
    outcome: Outcome | None = None
    says: tuple[str, ...] = ()
    summary: str = ""
    good: bool = False
    """The shop vouches for this part."""
    changed: bool = False


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One place through all runs."""

    place: Named
    suspect: bool
    cells: tuple[Cell, ...]


class Column(msgspec.Struct, frozen=True, kw_only=True):
    """One run."""

    number: int
    started: str
    in_known_good_machine: bool


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """One swap between two runs, in words."""

    from_run: int
    to_run: int
    change: str
    place: Named
    before: str
    after: str


class SwapTable(msgspec.Struct, frozen=True, kw_only=True):
    """All of it."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    changes: tuple[Change, ...]


def swap_table(runs: Sequence[Run], location: Location, names: Names) -> SwapTable:
    """Rows for every place whose part changed or where something failed."""
    places = _places(runs, location, names)
    runs = tuple(_as_told(run, location.swaps) for run in runs)
    marks = _marks(runs, places)
    return SwapTable(
        columns=tuple(
            Column(
                number=r.number, started=r.started, in_known_good_machine=r.in_known_good_machine
            )
            for r in runs
        ),
        rows=tuple(_row(place, runs, location, names, marks) for place in places),
        changes=tuple(
            Change(
                from_run=s.from_run,
                to_run=s.to_run,
                change=table_word(f"change.{s.change.replace(' ', '-')}", s.change),
                place=names.of(s.place),
                before=_told(s.before, names, marks),
                after=_told(s.after, names, marks),
            )
            for s in location.swaps
        ),
    )


def _as_told(run: Run, swaps: Sequence[Swap]) -> Run:
    """The run, with the names that parts without a number were given when they were put in."""
    told = {s.place: s.after for s in swaps if s.to_run <= run.number}
    parts = tuple(
        msgspec.structs.replace(p, id=after)
        if p.identity is None and (after := told.get(p.place)) is not None
        else p
        for p in run.inventory.parts
    )
    ids = {old.id: new.id for old, new in zip(run.inventory.parts, parts, strict=True)}
    readings = tuple(
        msgspec.structs.replace(r, at=ids[r.at]) if r.at in ids else r for r in run.readings
    )
    inventory = msgspec.structs.replace(run.inventory, parts=parts)
    return msgspec.structs.replace(run, inventory=inventory, readings=readings)


def _told(component: str | None, names: Names, marks: dict[str, str]) -> str:
    if component is None:
        return text("swaps.nothing")
    label = names.of(component).label
    return f"{label} ({marks[component]})" if component in marks else label


def _places(runs: Sequence[Run], location: Location, names: Names) -> list[str]:
    """Places of the table, those of swaps first, the suspect's path before the rest."""
    found: dict[str, None] = {s.place: None for s in location.swaps}
    for run in runs:
        if run.in_known_good_machine:
            continue
        for reading in run.readings:
            if reading.outcome is Outcome.FAILED:
                path = names.path(reading.at, run.number)
                row = next((n for n in path if n.role in ("place", "controller")), None)
                if row:
                    found.setdefault(row.id)
    return list(found)


def _marks(runs: Sequence[Run], places: Sequence[str]) -> dict[str, str]:
    """A letter for each part that was ever in a place of the table, in order of appearance."""
    seen: dict[str, None] = {}
    for place in places:
        for run in runs:
            for part in run.inventory.parts:
                if part.place == place and not run.in_known_good_machine:
                    seen.setdefault(part.id)
    return {part: _letter(index) for index, part in enumerate(seen)}


def _letter(index: int) -> str:
    rounds, at = divmod(index, len(LETTERS))
    return LETTERS[at] + (str(rounds + 1) if rounds else "")


def _row(place: str, runs: Sequence[Run], location: Location, names: Names,
         marks: dict[str, str]) -> Row:  # fmt: skip
    cells: list[Cell] = []
    read: list[Cell] = []
    ours = {
        part.id
        for run in runs
        if not run.in_known_good_machine
        for part in run.inventory.parts
        if part.place == place
    }
    for run in runs:
        before = cells[-1] if cells else None
        cell = _elsewhere(run, ours, names, marks) if run.in_known_good_machine else _cell(
            run, place, names, marks
        )  # fmt: skip
        changed = before is not None and not run.in_known_good_machine and before.mark != cell.mark
        alike = next((r.number for r, c in zip(runs, read, strict=False) if c == cell), None)
        read.append(cell)
        if alike is not None and cell.says:
            cell = msgspec.structs.replace(cell, says=(), summary=text("swaps.as-in", run=alike))
        cells.append(msgspec.structs.replace(cell, changed=changed))
    suspect = bool(location.component) and location.component in {n.id for n in names.path(place)}
    return Row(place=names.of(place), suspect=suspect, cells=tuple(cells))


def _cell(run: Run, place: str, names: Names, marks: dict[str, str]) -> Cell:
    part = next((p for p in run.inventory.parts if p.place == place), None)
    if part is None and names.of(place).role == "place":
        presence = next(
            (p.presence for p in run.inventory.places if p.id == place), Presence.UNKNOWN
        )
        at_place = [r for r in run.readings if r.at == place]
        return _judged(Cell(summary=title(presence)), at_place)
    identity = part.identity if part else None
    cell = Cell(
        mark=marks.get(part.id, "") if part else "",
        part=names.of(part.id) if part else None,
        good=identity is not None and identity in run.known_good,
    )
    return _judged(cell, [r for r in run.readings if r.at in (place, part.id if part else place)])


def _elsewhere(run: Run, ours: set[str], names: Names, marks: dict[str, str]) -> Cell:
    """A run in the shop's own machine tells of our part, whatever its place there."""
    part = next((p for p in run.inventory.parts if p.id in ours), None)
    if part is None:
        return Cell(summary=text("swaps.not-there"))
    place = next((p.name for p in run.inventory.places if p.id == part.place), part.place)
    cell = Cell(mark=marks.get(part.id, ""), part=names.of(part.id), where=place)
    return _judged(cell, [r for r in run.readings if r.at in (part.id, part.place)])


def _judged(cell: Cell, readings: Sequence[Reading]) -> Cell:
    failed = [r for r in readings if r.outcome is Outcome.FAILED]
    passed = [r for r in readings if r.outcome is Outcome.PASSED]
    if failed:
        return msgspec.structs.replace(
            cell,
            outcome=Outcome.FAILED,
            says=tuple(dict.fromkeys(r.says or r.check for r in failed))[:3],
            summary=count("swaps.failed", len(failed), of=len(failed) + len(passed)),
        )
    if passed:
        return msgspec.structs.replace(
            cell, outcome=Outcome.PASSED, summary=count("swaps.passed", len(passed))
        )
    return cell if cell.summary else msgspec.structs.replace(cell, summary=text("swaps.untested"))
