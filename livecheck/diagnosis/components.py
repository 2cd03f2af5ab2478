"""The component graph of a case: everything that could be at fault, over all its runs.

Besides parts, places, controllers, the mainboard, its firmware and the installed
system there are two kinds of its own: a part that must be in a place where
nothing answers, and the contact between a part and its place, which is made anew
whenever the part is put in. ``Paths`` says which of them one check exercises.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck.diagnosis import priors
from livecheck.diagnosis.fitting import Fitting, expected
from livecheck.records import (
    Complaint,
    Controller,
    Kind,
    Knowledge,
    Part,
    Place,
    Record,
    Side,
)

MAINBOARD = "mainboard"
FIRMWARE = "firmware"
SOFTWARE = "software"


class Component(Record, frozen=True, kw_only=True):
    """One thing that could be at fault."""

    id: str
    kind: str
    unit: str
    """Kind of the replaceable unit to order."""
    group: str
    """Components of one group are repaired by ordering the same one unit."""
    side: Side
    name: str
    weight: float
    place: str | None = None
    """For a part or a contact: the scoped place it was last seen in."""
    part: str | None = None
    """For a contact: the part's key."""


class Graph(Record, frozen=True, kw_only=True):
    """All components, and the fittings they come from."""

    components: tuple[Component, ...]
    index: dict[str, int]
    fittings: tuple[Fitting, ...]
    complaint: Complaint

    def at(self, component: str) -> Component:
        """The component with this id. Raises KeyError when the case has none."""
        return self.components[self.index[component]]


REPAIRED: Final = " (repaired "
"""Between the id of a component and how many times it had been treated."""


def contact_id(fitted: Fitting, place: str, part: str) -> str:
    """Id of the contact between a part and its place, as made for this run."""
    seating = fitted.seatings.get(place, 0)
    again = f" (seating {seating + 1})" if seating else ""
    return f"contact:{fitted.scoped(place)}:{part}{again}"


def treated_id(fitted: Fitting, component: str) -> str:
    """Id of a component as it was in this run: another one after it was repaired."""
    count = fitted.treated.get(component.removeprefix(fitted.board) or component, 0)
    return f"{component}{REPAIRED}{count})" if count else component


def cured(graph: Graph, component: Component) -> bool:
    """True when this component was cleaned, re-flashed or repaired since it was at fault."""
    home = [fitted for fitted in graph.fittings if not fitted.run.elsewhere]
    if not home:
        return False
    before = {
        f"{own}{REPAIRED}{turn})" if turn else own
        for own, count in home[-1].treated.items()
        for turn in range(count)
    }
    return component.id in before


def modes(graph: Graph, knowledge: Knowledge) -> tuple[dict[str, float], ...]:
    """Of each component the ways it can fail, by the kin of checks that see them."""
    rows = (knowledge.kinds.get(component.kind) for component in graph.components)
    return tuple(row.modes if row is not None else {} for row in rows)


def build(fittings: Sequence[Fitting], knowledge: Knowledge, complaint: Complaint) -> Graph:
    """The graph of a case. Later runs say more: their names and records win."""
    maker = _Maker(knowledge, complaint, fittings)
    for fitted in fittings:
        maker.add_run(fitted)
    components = tuple(maker.found.values())
    return Graph(
        components=components,
        index={component.id: number for number, component in enumerate(components)},
        fittings=tuple(fittings),
        complaint=complaint,
    )


class _Maker:
    """Collects components run by run."""

    def __init__(
        self, knowledge: Knowledge, complaint: Complaint, fittings: Sequence[Fitting]
    ) -> None:
        self.knowledge = knowledge
        self.complaint = complaint
        self.found: dict[str, Component] = {}
        # A part that does not answer in one run may tell its name in another.
        self.names = {f.keys[p.id]: p.name for f in fittings for p in f.run.inventory.parts}
        self.vouched = {key for fitted in fittings for key in fitted.vouched}
        self.good = priors.share(knowledge.model.known_good, complaint)
        self.fresh = priors.share(knowledge.model.fresh_contact, complaint)
        self.empty = priors.share(knowledge.model.empty_place, complaint)
        self.filled = {fitted.scoped(place) for fitted in fittings for place in fitted.parts}

    def add_run(self, fitted: Fitting) -> None:
        inventory = fitted.run.inventory
        places = {place.id: place for place in inventory.places}
        parts = {fitted.keys[part.id]: part for part in inventory.parts}
        for own in (MAINBOARD, FIRMWARE):
            self._board(fitted, own, own, self._title(own))
        if not fitted.run.elsewhere:
            self._add(SOFTWARE, SOFTWARE, Side.SOFTWARE, self._title(SOFTWARE))
        for controller in inventory.controllers:
            self._board(fitted, controller.id, controller.kind, controller.name)
        for place in inventory.places:
            used = fitted.scoped(place.id) in self.filled
            self._board(fitted, place.id, place.kind, place.name, 1.0 if used else self.empty)
        for part in inventory.parts:
            self._part(fitted, part, places.get(part.place))
        for place_id in fitted.unseen:
            self._unseen(fitted, places[place_id])
        for place_id, key in fitted.parts.items():
            known = parts.get(key)
            self._contact(fitted, places.get(place_id), place_id, key, known)

    def _title(self, kind: str) -> str:
        row = self.knowledge.kinds.get(kind)
        return row.title if row else kind

    def _kind(self, kind: str, role: str) -> Kind:
        row = self.knowledge.kinds.get(kind)
        if row is not None:
            return row
        # A kind the table does not know still can be at fault; it is only less likely.
        return Kind(
            kind=kind,
            title=kind,
            role=role,
            weight=0.1,
            weight_source="assumed",
            unit=kind if role == "part" else MAINBOARD,
        )

    def _board(self, fitted: Fitting, own: str, kind: str, name: str, factor: float = 1.0) -> None:
        scoped = fitted.scoped(own)
        row = self._kind(kind, "controller")
        factor *= self.good if fitted.run.elsewhere else 1.0
        told = {"": "", "bench/": " of the known-good machine"}.get(
            fitted.board, " of the board that was replaced"
        )
        group = f"{fitted.board}{row.unit}" if row.unit in (MAINBOARD, FIRMWARE) else scoped
        self._add(
            treated_id(fitted, scoped),
            kind,
            Side.CONTROLLER,
            self._treated(fitted, scoped, name + told),
            factor=factor,
            group=group,
        )

    def _treated(self, fitted: Fitting, own: str, name: str) -> str:
        """Its name, told apart from what it was before it was cleaned, re-flashed or repaired."""
        again = treated_id(fitted, own) != own
        return self.knowledge.say("treated", name=name) if again else name

    def _part(self, fitted: Fitting, part: Part, place: Place | None) -> None:
        key = fitted.keys[part.id]
        if part.soldered:
            self._board(fitted, part.id, part.kind, part.name)
            component = self.found[treated_id(fitted, fitted.scoped(part.id))]
            self.found[component.id] = _soldered(component, fitted.board)
            return
        bench = key in self.vouched or key.startswith("bench/") or part.bench_own
        factor = self.good if bench else 1.0
        if place is not None and place.external:
            factor *= 0.3
        self._add(
            treated_id(fitted, key),
            part.kind,
            Side.DEVICE,
            self._treated(fitted, key, part.name),
            factor=factor,
            place=fitted.scoped(part.place),
        )

    def _unseen(self, fitted: Fitting, place: Place) -> None:
        key = fitted.parts[place.id]
        kind = key.partition("@")[0] if "@" in key else expected(place)
        factor = self.good if key in self.vouched or key.startswith("bench/") else 1.0
        if treated_id(fitted, key) not in self.found:
            name = self._treated(fitted, key, f"{self._title(expected(place))} in {place.name}")
            self._add(
                treated_id(fitted, key),
                self.found[key].kind if key in self.found else kind.removeprefix("bench/"),
                Side.DEVICE,
                name,
                factor=factor,
                place=fitted.scoped(place.id),
            )

    def _contact(
        self, fitted: Fitting, place: Place | None, place_id: str, key: str, part: Part | None
    ) -> None:
        if place is None or place.external or (part is not None and part.soldered):
            return
        if place.kind == "power-jack":
            # The plug's contact is the jack's: it is made anew every day, and wears the jack.
            return
        told = self.names.get(key) or self._title(expected(place))
        who = part.name if part is not None else told
        factor = priors.weight(self._kind(place.kind, "place"), self.complaint)
        factor *= self.good if fitted.run.elsewhere else 1.0
        # A bad contact does no more than its part's absence would.
        kind = part.kind if part is not None else expected(place)
        row = self._kind(kind, "part")
        factor *= min(1.0, row.complaints.get(self.complaint, 1.0))
        if fitted.seatings.get(place_id, 0):
            # Made on the bench just now, by hands that look for it.
            factor *= self.fresh
        self._add(
            contact_id(fitted, place_id, key),
            "contact",
            Side.UNDETERMINED,
            f"contact between {who} and {place.name}",
            factor=factor,
            place=fitted.scoped(place_id),
            part=key,
        )

    def _add(
        self,
        own: str,
        kind: str,
        side: Side,
        name: str,
        *,
        factor: float = 1.0,
        group: str | None = None,
        place: str | None = None,
        part: str | None = None,
    ) -> None:
        role = {Side.DEVICE: "part", Side.UNDETERMINED: "contact"}.get(side, "controller")
        row = self._kind(kind, role)
        weight = priors.weight(row, self.complaint) * factor
        self.found[own] = Component(
            id=own,
            kind=kind,
            unit=row.unit,
            group=group or own,
            side=side,
            name=name,
            weight=weight,
            place=place,
            part=part,
        )


def _soldered(component: Component, board: str) -> Component:
    """A part soldered to the board: its fault is the board's."""
    return Component(
        id=component.id,
        kind=component.kind,
        unit=MAINBOARD,
        group=f"{board}{MAINBOARD}",
        side=Side.CONTROLLER,
        name=component.name,
        weight=component.weight,
    )


class Path(Record, frozen=True):
    """Ids of the components one reading's place of measurement involves, by role."""

    part: tuple[str, ...] = ()
    place: tuple[str, ...] = ()
    controller: tuple[str, ...] = ()
    upstream: tuple[str, ...] = ()
    contact: tuple[str, ...] = ()


class Paths:
    """Finds paths in one fitting."""

    def __init__(self, fitted: Fitting, graph: Graph) -> None:
        self.fitted = fitted
        self.graph = graph
        inventory = fitted.run.inventory
        self.places: dict[str, Place] = {place.id: place for place in inventory.places}
        self.controllers: dict[str, Controller] = {c.id: c for c in inventory.controllers}
        self.soldered = {fitted.keys[p.id]: p.id for p in inventory.parts if p.soldered}
        self.homes = {key: place for place, key in fitted.parts.items()}
        self._below: dict[str, list[str]] = {}
        for place in inventory.places:
            if place.controller is not None:
                self._below.setdefault(place.controller, []).append(place.id)
        self._kinds: dict[str, tuple[str, ...]] | None = None

    def of(self, at: str) -> Path:
        """The path of a component of this run; empty for the machine as a whole."""
        key = self.fitted.keys.get(at, at)
        if key in self.homes:
            return self._of_place(self.homes[key])
        if at in self.places:
            return self._of_place(at)
        if at in self.controllers:
            below = [self._of_place(place) for place in self._below.get(at, ())]
            return Path(
                part=tuple(part for path in below for part in path.part),
                place=tuple(place for path in below for place in path.place),
                controller=self._boards([at]),
                upstream=self._upstream(at),
                contact=tuple(contact for path in below for contact in path.contact),
            )
        if (known := self._known(key)) is not None:
            return Path(part=(known,))
        return Path()

    def of_kind(self, kind: str) -> tuple[str, ...]:
        """Every component of a kind in this run's machine."""
        if self._kinds is None:
            self._kinds = self._by_kind()
        return self._kinds.get(kind, ())

    def mainboard(self, kind: str = MAINBOARD) -> tuple[str, ...]:
        """The board itself, or its firmware."""
        return self._boards([kind])

    def _of_place(self, place: str) -> Path:
        key = self.fitted.parts.get(place)
        record = self.places.get(place)
        serves = record.controller if record is not None else None
        contact = contact_id(self.fitted, place, key) if key is not None else ""
        part = self._part(key) if key is not None else None
        return Path(
            part=(part,) if part is not None else (),
            place=self._boards([place]),
            controller=self._boards([serves]) if serves else (),
            upstream=self._upstream(serves) if serves else (),
            contact=(contact,) if contact in self.graph.index else (),
        )

    def _part(self, key: str) -> str | None:
        if key in self.soldered:
            return next(iter(self._boards([self.soldered[key]])), None)
        return self._known(key)

    def _known(self, key: str) -> str | None:
        own = treated_id(self.fitted, key)
        return own if own in self.graph.index else None

    def _boards(self, ids: Sequence[str]) -> tuple[str, ...]:
        scoped = (treated_id(self.fitted, self.fitted.scoped(own)) for own in ids)
        return tuple(own for own in scoped if own in self.graph.index)

    def _upstream(self, controller: str) -> tuple[str, ...]:
        chain: list[str] = []
        record = self.controllers.get(controller)
        parent = record.parent if record is not None else None
        while parent is not None and parent not in chain and parent in self.controllers:
            chain.append(parent)
            parent = self.controllers[parent].parent
        return self._boards(chain)

    def _by_kind(self) -> dict[str, tuple[str, ...]]:
        ids: list[str] = [*self._boards([MAINBOARD, FIRMWARE, *self.controllers, *self.places])]
        ids += [part for key in self.homes if (part := self._part(key)) is not None]
        if not self.fitted.run.elsewhere:
            ids.append(SOFTWARE)
        found: dict[str, list[str]] = {}
        for own in ids:
            found.setdefault(self.graph.at(own).kind, []).append(own)
        for place, key in self.fitted.parts.items():
            # A bad contact is felt where a bad place of that kind would be.
            contact = contact_id(self.fitted, place, key)
            if contact in self.graph.index and place in self.places:
                found.setdefault(self.places[place].kind, []).append(contact)
        return {kind: tuple(dict.fromkeys(owns)) for kind, owns in found.items()}
