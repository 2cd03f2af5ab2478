"""What a component is called: its kind, name, place on the path and side.

For report, console and command line alike. Ids come from several runs; the latest run that
knows an id says what it is. What no inventory lists (a contact, a silent part, a part since
it was treated) is looked up in the case's graph.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Final

import msgspec

from livecheck.languages import proper
from livecheck.records import (
    Controller,
    Inventory,
    Knowledge,
    Part,
    Place,
    Reading,
    Run,
    Side,
)
from livecheck.topology.blame import Accusations
from livecheck.topology.called import named
from livecheck.topology.graph import Component, Graph, build
from livecheck.topology.history import configurations
from livecheck.topology.ids import CONTACT, FIRMWARE, MAINBOARD, SOFTWARE, ComponentId
from livecheck.topology.missed import PLUGGED, plug
from livecheck.wording import kind_title, text

MACHINE: Final = "machine"
_LONE: Final = (MACHINE, MAINBOARD, SOFTWARE, FIRMWARE)


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
        if self.role == MACHINE:
            return None
        if self.role == SOFTWARE:
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
    """The components of a case by the text of their ids, and the path above each."""

    def __init__(
        self, runs: Sequence[Run], knowledge: Knowledge, spares: Iterable[str] = ()
    ) -> None:
        """``spares``: identities of parts the shop vouches for (``Case.spares``)."""
        self._runs = runs
        self._knowledge = knowledge
        self._spares = frozenset(spares)
        self._known: dict[str, Named] = {own: self._lone(own) for own in _LONE}
        self._sat: dict[tuple[str, int], str] = {}
        plugs = tuple(plug(kind, knowledge) for kind in PLUGGED if kind in knowledge.kinds)
        self._add(Inventory(places=plugs))
        for run in named(runs):
            self._add(run.inventory)
            self._sat.update({(part.id, run.number): part.place for part in run.inventory.parts})

    @cached_property
    def graph(self) -> Graph:
        """Everything that could be at fault."""
        return build(configurations(self._runs, self._spares), self._knowledge)

    @cached_property
    def _accusations(self) -> Accusations:
        return Accusations(self.graph, self._knowledge.checks)

    def accused(self, run: Run, reading: Reading) -> tuple[Component, ...]:
        """The components that a fault in could make a reading of a run fail."""
        return tuple(self.graph.at(own) for own, _ in self._accusations.of(run.number, reading))

    def of(self, component: str, name: str = "", kind: str = "") -> Named:
        """The component with this id; ``name`` and ``kind`` serve when no run knows it."""
        found = self._find(component)
        if found is not None:
            return found
        row = self._knowledge.kinds.get(kind)
        return self._named(component, row.role if row else "part", kind, name or component, None)

    def target(self, target: str) -> str:
        """What a step is taken at, by its name; a topic that is no component as it stands."""
        found = self._find(target)
        return found.label if found is not None else target

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

    def _find(self, component: str) -> Named | None:
        known = self._known.get(component)
        if known is not None:
            return known
        named = self.graph.named(component)
        return self._of_graph(named) if named is not None else self._expected(component)

    def _of_graph(self, component: Component) -> Named:
        """What no inventory lists under this id."""
        own = component.id
        if own.kind and own.kind != CONTACT:
            return self._silent(own)
        plain = self._known.get(own.key) if own.kind != CONTACT else None
        place = component.place
        row = self._knowledge.kinds.get(component.kind)
        named = self._named(
            str(own),
            row.role if row else "part",
            component.kind,
            component.name,
            place.key if place is not None else plain.above if plain is not None else None,
        )
        soldered = plain is not None and plain.soldered
        return msgspec.structs.replace(named, soldered=soldered)

    def _expected(self, component: str) -> Named | None:
        """A part that a place is made for, where nothing is."""
        places = (row for row in self._known.values() if row.role == "place")
        parts = [kind for kind, row in self._knowledge.kinds.items() if row.role == "part"]
        could = (ComponentId(kind=kind, place=place.id) for place in places for kind in parts)
        own = next((one for one in could if str(one) == component), None)
        return self._silent(own) if own is not None else None

    def _silent(self, own: ComponentId) -> Named:
        """A part that is known by its place alone."""
        where = text("names.expected", place=self.of(own.place).label)
        bare = self._named(str(own), "part", own.kind, "", own.place)
        return msgspec.structs.replace(bare, name=f"{bare.kind_title} {where}")

    def _lone(self, component: str) -> Named:
        name = text(f"names.{component}")
        above = None if component in (MACHINE, SOFTWARE, MAINBOARD) else MAINBOARD
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
        title = kind_title(kind, self._knowledge) if kind else text("names.component")
        return Named(
            id=component,
            role=role,
            kind=kind,
            kind_title=title,
            name=proper(name, title),
            above=above,
        )
