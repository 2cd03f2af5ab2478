"""Who a reading accuses: the one reader of the check table's blame rules."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck.records import Blame, Check, Outcome, Reading, Record
from livecheck.topology.graph import Graph
from livecheck.topology.ids import CONTACT, FIRMWARE, MAINBOARD, SOFTWARE, THE_SOFTWARE, ComponentId
from livecheck.topology.paths import Ids, Path, Paths

PART: Final = "part"
PLACE: Final = "place"
HARDWARE: Final = "hardware"
KIND: Final = "kind"
CLEAR: Final = 4.0
"""How many times more a check accuses what it speaks of than anything else: assumed."""
_ON_PATH: Final = (PART, PLACE, "controller", "upstream", CONTACT)

Accused = tuple[tuple[ComponentId, float], ...]
"""(Component, chance that its fault makes the check fail), each once."""


class Who(Record, frozen=True, kw_only=True):
    """Whom one row of a blame rule means."""

    role: str
    """A role on the path; ``mainboard``, ``firmware`` or ``software``; ``kind``: every
    component of a kind in the machine; ``path``: that of a kind on the path; ``hardware``:
    all that no other row names."""
    kind: str = ""
    """For ``kind`` and ``path``."""


def who(blame: Blame) -> Who:
    """Whom a row means."""
    role, _, kind = blame.who.partition(":")
    return Who(role=role, kind=kind)


def row_name(check: str, blame: Blame) -> str:
    """What a row of a check is called where figures are kept."""
    return f"{check} {blame.who}"


def accused(check: Check, at: str, paths: Paths) -> Accused:
    """Every component that could make ``check`` fail at ``at`` in this configuration."""
    return tuple((own, row.detect) for own, row in accusing(check, at, paths).items())


def accusing(check: Check, at: str, paths: Paths) -> dict[ComponentId, Blame]:
    """The same components, each with the row that accuses it the most surely."""
    path = paths.of(at)
    found: dict[ComponentId, Blame] = {}
    rows = [(who(blame), blame) for blame in check.blames]
    told = any(row.role == CONTACT for row, _ in rows)
    bare = check.direct and all(row.role != PART for row, _ in rows)
    for row, blame in rows:
        named = _named(row, path, paths)
        if row.role == PLACE and not told and not bare:
            # A bad contact is felt where a bad place would be: between the two. Not by a
            # direct look at a place, such as a meter on a jack, that no part takes part in.
            named = (*named, *path.contact, *path.lead)
        meant = {*path.part, *path.place}.intersection(named) if row.role == KIND else set()
        for own in named:
            fits = blame if not meant or own in meant else _less(blame)
            if own not in found or found[own].detect < fits.detect:
                found[own] = fits
    for row, blame in rows:
        for own in paths.hardware() if row.role == HARDWARE else ():
            found.setdefault(own, blame)
    return found


def _less(blame: Blame) -> Blame:
    """A row about one of a kind where the reading names another of it."""
    if blame.elsewhere is None:
        return blame
    return msgspec.structs.replace(blame, detect=blame.elsewhere)


def several_roles(check: Check) -> bool:
    """True for a check that could blame more than one thing where it is made."""
    return len({who(row) for row in check.blames}) > 1


def speaks_of(check: Check) -> str | None:
    """The kind that a check accuses far more than all else, wherever it is read."""
    rows = sorted(check.blames, key=lambda row: -row.detect)
    rest = max((row.detect for row in rows[1:]), default=0.0)
    first = who(rows[0]) if rows else None
    clear = first is not None and first.role == KIND and rows[0].detect >= CLEAR * rest
    return first.kind if first is not None and clear else None


def _named(row: Who, path: Path, paths: Paths) -> Ids:
    if row.role in _ON_PATH:
        found: Ids = getattr(path, row.role)
        return found
    if row.role in (MAINBOARD, FIRMWARE):
        return paths.of_board(row.role)
    if row.role == SOFTWARE:
        return (THE_SOFTWARE,) if THE_SOFTWARE in paths.graph.index else ()
    if row.role == KIND:
        return paths.of_kind(row.kind)
    if row.role == "path":
        whole = (*path.part, *path.place, *path.controller, *path.upstream, *paths.of_board())
        return tuple(own for own in whole if paths.graph.at(own).kind == row.kind)
    return ()


class MeasuredAt(Record, frozen=True, kw_only=True):
    """What a place of measurement belongs to."""

    machine: str
    """Whichever board of the model is in it."""
    chip: str
    """The controller that serves it, whichever board it is on; else ``point``."""
    point: str
    """What was read: the part, else what stays."""


class Accusations:
    """Whom the readings of a case accuse."""

    def __init__(self, graph: Graph, checks: dict[str, Check]) -> None:
        self._checks = checks
        self._paths = {now.run.number: Paths(now, graph) for now in graph.configurations}
        self._known: dict[tuple[int, str, str], dict[ComponentId, Blame]] = {}

    def run_of(self, run: int, reading: Reading) -> int:
        """Number of the run a reading speaks of: its own, or an earlier one's.

        How a start ended is found by the next one, where other parts may be fitted.
        """
        return reading.of_run if reading.of_run in self._paths else run

    def path(self, run: int, at: str) -> MeasuredAt:
        """What a reading of this run was taken at. Raises KeyError for a run it does not know."""
        paths = self._paths[run]
        point = str(paths.now.test_point(at))
        lent = paths.now.in_known_good_machine
        chips = (str(own) if lent else own.key for own in paths.of(at).controller)
        machine = str(paths.now.on_board("machine")) if lent else "machine"
        return MeasuredAt(machine=machine, chip=next(chips, point), point=point)

    def of(self, run: int, reading: Reading) -> Accused:
        """The components that could make a reading of this run fail; none by no known check."""
        return tuple((own, row.detect) for own, row in self.rows(run, reading).items())

    def rows(self, run: int, reading: Reading) -> dict[ComponentId, Blame]:
        """The same components, each with the row that accuses it."""
        check = self._checks.get(reading.check)
        number = self.run_of(run, reading)
        if check is None or number not in self._paths:
            return {}
        key = (number, reading.check, reading.at)
        if key not in self._known:
            found = accusing(check, reading.at, self._paths[number])
            once = self._once_there(check, number, reading.at)
            self._known[key] = {own: row for own, row in found.items() if own not in once}
        return self._known[key]

    def _once_there(self, check: Check, run: int, at: str) -> set[ComponentId]:
        """Parts elsewhere in this run that sat where the same check failed in another.

        A place's label may be wrong, so that any part of the kind is accused; it is then wrong
        in each run, and nothing is at fault that was there in one of them and not in the other.
        """
        now = self._paths[run].now
        part = now.part_at(at)
        place = now.home(part) if part is not None else None
        if part is None or place is None:
            return set()
        if all(who(row).kind != now.kinds.get(part) for row in check.blames):
            return set()
        there = {
            one.now.parts[place]
            for one in self._paths.values()
            if one.now.scope == now.scope and place in one.now.parts
            and any(
                r.check == check.name and r.outcome is Outcome.FAILED
                and one.now.part_at(r.at) == one.now.parts[place]
                for r in one.now.run.readings
            )
        }  # fmt: skip
        return there - {part}
