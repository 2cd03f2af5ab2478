"""What each component id means: its kind, name, place on the path and side.

Ids come from several runs; the latest run that knows an id says what it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import msgspec

from livecheck.diagnosis.components import REPAIRED
from livecheck.records import Blame, Controller, Inventory, Knowledge, Part, Place, Run, Side
from livecheck.wording import kind_title, text

MAINBOARD: Final = "mainboard"
_LONE: Final = ("machine", MAINBOARD, "software", "firmware")


class Named(msgspec.Struct, frozen=True, kw_only=True):
    """One component as the report speaks of it."""

    id: str
    role: str
    """That of its kind (``Kind.role``), or ``machine`` for the whole."""
    kind: str
    kind_title: str
    name: str
    above: str | None = None
    """Id of the next component up the path."""
    soldered: bool = False

    @property
    def side(self) -> Side | None:
        """Whose fault a fault in it would be; None for the machine as a whole."""
        if self.role == "machine":
            return None
        if self.role == "software":
            return Side.SOFTWARE
        return Side.DEVICE if self.role == "part" and not self.soldered else Side.CONTROLLER

    @property
    def label(self) -> str:
        """Name with its kind before it, unless the name already says it."""
        words = self.kind_title.lower().split(" ")
        if not self.name or words[0] in self.name.lower() or words[-1] in self.name.lower():
            return self.name or self.kind_title
        return f"{self.kind_title} {self.name}"


class Names:
    """Component ids of a case -> Named, and the path above each."""

    def __init__(self, runs: Sequence[Run], knowledge: Knowledge) -> None:
        self._knowledge = knowledge
        self._known: dict[str, Named] = {i: self._lone(i) for i in _LONE}
        self._sat: dict[tuple[str, int], str] = {}
        for run in runs:
            self._add(run.inventory)
            self._sat.update({(part.id, run.number): part.place for part in run.inventory.parts})

    def of(self, component: str, name: str = "", kind: str = "") -> Named:
        """The component with this id; ``name`` and ``kind`` serve when no run knows it."""
        known = self._known.get(component)
        if known:
            return known
        before, again, _ = component.partition(REPAIRED)
        if again:
            was = self.of(before, kind=kind)
            return msgspec.structs.replace(
                was, id=component, name=text("say.treated", name=was.name).strip()
            )
        supposed, at, place = component.partition("@")
        if at and supposed in self._knowledge.kinds:
            where = self.of(place).label
            expected = text("names.expected", place=where)
            told = name or f"{kind_title(supposed, self._knowledge)} {expected}"
            return self._named(component, "part", supposed, told, place)
        row = self._knowledge.kinds.get(kind)
        return self._named(component, row.role if row else "part", kind, name or component, None)

    def known(self, component: str) -> bool:
        """Whether any run, or every machine, has it."""
        return component in self._known

    def target(self, target: str) -> str:
        """What a step is taken at, by its name; a topic that is no component as it stands."""
        part = "@" in target and target.partition("@")[0] in self._knowledge.kinds
        return self.of(target).label if part or self.known(target) else target

    def path(self, component: str, run: int | None = None) -> tuple[Named, ...]:
        """The component and all above it in one run, up to and with the mainboard.

        Parts move: without a run, the last place it was seen in counts.
        """
        found: list[Named] = []
        at: str | None = component
        while at is not None and at not in {n.id for n in found}:
            found.append(self.of(at))
            at = self._sat.get((at, run or 0), found[-1].above)
        return tuple(found)

    def could_fail(self, blame: Blame, at: str, run: int, suspect: Named) -> bool:
        """Whether a fault in ``suspect`` can make a check taken at ``at`` fail, by this rule."""
        path = self.path(at, run)
        if blame.who == "part" and self.of(at).role == "place":
            # Read at the place, it is a test of the part that sat there as well.
            return self._sat.get((suspect.id, run)) == at
        who, _, kind = blame.who.partition(":")
        if who == "kind":
            return suspect.kind == kind
        if who == "path":
            return suspect.kind == kind and suspect in path
        if who in ("software", "mainboard", "firmware"):
            return suspect.role == who
        above = [n for n in path if n.role == "controller"]
        if who == "controller":
            return suspect in above[:1]
        if who == "upstream":
            return suspect in above[1:]
        return suspect in path and suspect.role == who

    def _lone(self, component: str) -> Named:
        name = text(f"names.{component}")
        above = None if component in ("machine", "software", MAINBOARD) else MAINBOARD
        return Named(
            id=component, role=component, kind=component, kind_title=name, name="", above=above
        )

    def _add(self, inventory: Inventory) -> None:
        rows: Iterable[Controller | Place | Part] = (
            *inventory.controllers,
            *inventory.places,
            *inventory.parts,
        )
        for row in rows:
            self._known[row.id] = self._from_row(row)

    def _from_row(self, row: Controller | Place | Part) -> Named:
        if isinstance(row, Controller):
            return self._named(row.id, "controller", row.kind, row.name, row.parent or MAINBOARD)
        if isinstance(row, Place):
            return self._named(row.id, "place", row.kind, row.name, row.controller or MAINBOARD)
        named = self._named(row.id, "part", row.kind, row.name, row.place)
        return msgspec.structs.replace(named, soldered=row.soldered)

    def _named(self, component: str, role: str, kind: str, name: str, above: str | None) -> Named:
        return Named(
            id=component,
            role=role,
            kind=kind,
            kind_title=kind_title(kind, self._knowledge) if kind else text("names.component"),
            name=name,
            above=above,
        )
