"""The component graph of a case: everything that could be at fault, over all its runs.

Besides parts, places, controllers, the mainboard, its firmware and the installed
system there are kinds of their own: a part that must be in a place where nothing
answers; the contact of each place, which may be made anew whenever a part is put in
(``diagnosis.model.windows``); leads; a controller that hangs until it has no power.
``paths`` says which of them one check looks at.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.records import Complaint, Kind, Knowledge, ModelParameters, Part, Place, Record, Side
from livecheck.topology.complained import complaint_of
from livecheck.topology.configuration import Configuration, made_for
from livecheck.topology.ids import (
    ANTENNA_LEAD,
    CONTACT,
    DRIVE_LEAD,
    FIRMWARE,
    HUNG,
    IN_KNOWN_GOOD,
    MAINBOARD,
    SETTING,
    SOFTWARE,
    THE_SOFTWARE,
    ComponentId,
)

_BARE_CONTACT: Final = ("power-jack",)
"""Places whose contact is their own: a plug's is made anew every day, and wears the jack."""
LEADS: Final = {"sata-port": DRIVE_LEAD}
"""Kind of place -> kind of the lead that its part often hangs on."""
ANTENNAS: Final = "wireless-card"
_NOBODY: Final = ComponentId()


class Component(Record, frozen=True, kw_only=True):
    """One thing that could be at fault."""

    id: ComponentId
    kind: str
    unit: str
    """Kind of the replaceable unit to order."""
    group: str
    """Components of one group are repaired by ordering the same one unit."""
    side: Side
    name: str
    place: ComponentId | None = None
    """For a part or a contact: the place it was last seen in."""
    part: ComponentId | None = None
    """For a contact: the part."""
    joins: tuple[str, str] | None = None
    """For a contact: kinds of its part and of its place."""
    known_good: bool = False
    """True: the shop vouches for it, or for the machine it belongs to."""
    external: bool = False
    """True: a part that was plugged in from outside."""
    vacant: bool = False
    """True: a place nothing was in, in any run."""


class Graph(Record, frozen=True, kw_only=True):
    """All components, and the configurations they come from."""

    components: tuple[Component, ...]
    index: dict[ComponentId, int]
    by_text: dict[str, int]
    """Text form of an id -> component."""
    configurations: tuple[Configuration, ...]
    complaint: Complaint
    parameters: ModelParameters

    @property
    def as_now(self) -> list[Configuration]:
        """The runs so far with the very parts and contacts that are in now."""
        home = self.home
        return [one for one in home if one.state == home[-1].state]

    @property
    def numbers_as_now(self) -> frozenset[int]:
        """The numbers of those runs."""
        return frozenset(one.run.number for one in self.as_now)

    def at(self, own: ComponentId) -> Component:
        """The component with this id. Raises KeyError when the case has none."""
        return self.components[self.index[own]]

    def named(self, text: str) -> Component | None:
        """The component whose id has this text."""
        number = self.by_text.get(text)
        return None if number is None else self.components[number]

    def name(self, own: ComponentId) -> str:
        """A component's name, else its id."""
        number = self.index.get(own)
        return str(own) if number is None else self.components[number].name

    @property
    def home(self) -> tuple[Configuration, ...]:
        """The machine itself, run by run."""
        return tuple(one for one in self.configurations if not one.in_known_good_machine)


def kind_row(knowledge: Knowledge, kind: str, role: str) -> Kind:
    """The table's row of a kind; of one it does not know what its role makes likely."""
    # What it does not know can still be at fault; it is only less likely.
    unit = kind if role == "part" else MAINBOARD
    return knowledge.kinds.get(kind) or Kind(
        kind=kind, title=kind, role=role, weight=0.1, weight_source="assumed", unit=unit
    )


def _told(own: ComponentId, part: Part) -> str:
    """A part's name; of one that carries no number also what the bench calls it."""
    kind, _, called = own.key.partition(":")
    if kind != part.kind or not called or own.key == part.id or called in part.name:
        return part.name
    return f"{part.name} ({called})"


def build(configurations: Sequence[Configuration], knowledge: Knowledge) -> Graph:
    """The graph of a case. Later runs say more: their names and records win."""
    maker = _GraphMaker(knowledge, configurations)
    for configuration in configurations:
        maker.add_run(configuration)
    components = tuple(maker.found.values())
    index = {component.id: number for number, component in enumerate(components)}
    return Graph(
        components=components,
        index=index,
        by_text={str(own): number for own, number in index.items()},
        configurations=tuple(configurations),
        complaint=complaint_of(one.run for one in configurations),
        parameters=knowledge.model,
    )


class _GraphMaker:
    """Collects components run by run."""

    def __init__(self, knowledge: Knowledge, configurations: Sequence[Configuration]) -> None:
        self.found: dict[ComponentId, Component] = {}
        self._knowledge = knowledge
        self._known_good = {part for c in configurations for part in c.known_good}
        # A part that does not answer in one run may tell of itself in another.
        seen = [(c.ids[p.id], p) for c in configurations for p in c.run.inventory.parts]
        self._names = {own: part.name for own, part in seen}
        self._soldered = {own for own, part in seen if part.soldered}
        self._used = {c.on_board(place) for c in configurations for place in c.parts}

    def add_run(self, now: Configuration) -> None:
        """Everything one run's machine was made of."""
        inventory = now.run.inventory
        places = {place.id: place for place in inventory.places}
        parts = {now.ids[part.id]: part for part in inventory.parts}
        for kind in (MAINBOARD, FIRMWARE):
            self._add(self._of_board(now, now.on_board(kind), kind, self._title(kind)))
        for kind in (HUNG, SETTING):
            free = self._of_board(now, now.on_board(kind), kind, self._title(kind))
            self._add(msgspec.structs.replace(free, side=Side.UNDETERMINED))
        if not now.in_known_good_machine:
            self._add(self._software())
        for controller in inventory.controllers:
            own = now.on_board(controller.id)
            self._add(self._of_board(now, own, controller.kind, controller.name))
        for place in inventory.places:
            found = self._of_board(now, now.on_board(place.id), place.kind, place.name)
            vacant = now.on_board(place.id) not in self._used
            self._add(msgspec.structs.replace(found, vacant=vacant))
            self._lead(now, place)
        for part in inventory.parts:
            self._add(self._part(now, part, places.get(part.place)))
        for place_id in now.unseen:
            unseen = self._unseen(now, places[place_id])
            if unseen.id not in self.found:
                self._add(unseen)
        for place_id, own in now.parts.items():
            if place_id in places:
                self._contact(now, places[place_id], own, parts.get(own))

    def _add(self, component: Component) -> None:
        self.found[component.id] = component

    def _title(self, kind: str) -> str:
        row = self._knowledge.kinds.get(kind)
        return row.title if row else kind

    def _say(self, key: str, **fields: str) -> str:
        return self._knowledge.say(key, **fields)

    def _software(self) -> Component:
        return Component(
            id=THE_SOFTWARE,
            kind=SOFTWARE,
            unit=kind_row(self._knowledge, SOFTWARE, "controller").unit,
            group=SOFTWARE,
            side=Side.SOFTWARE,
            name=self._title(SOFTWARE),
        )

    def _of_board(self, now: Configuration, own: ComponentId, kind: str, name: str) -> Component:
        """A place, a controller, or the board or its firmware."""
        row = kind_row(self._knowledge, kind, "controller")
        if now.in_known_good_machine:
            name = self._say("called.of-the-good-machine", name=name)
        elif now.scope:
            name = self._say(
                "called.old-board" if kind == MAINBOARD else "called.of-the-old-board", name=name
            )
        shared = row.unit in (MAINBOARD, FIRMWARE)
        return Component(
            id=own,
            kind=kind,
            unit=row.unit,
            group=str(now.on_board(row.unit) if shared else own),
            side=Side.CONTROLLER,
            name=name,
            known_good=now.in_known_good_machine,
        )

    def _lead(self, now: Configuration, place: Place) -> None:
        """What bends and is cheap, where such a place has it."""
        kind = LEADS.get(place.kind if place.id in now.parts else "") or (
            ANTENNA_LEAD if now.kinds.get(now.parts.get(place.id, _NOBODY)) == ANTENNAS else ""
        )
        if kind:
            name = self._say("called.lead", lead=self._title(kind), place=place.name)
            self._add(self._of_board(now, now.lead(place.id, kind), kind, name))

    def _part(self, now: Configuration, part: Part, place: Place | None) -> Component:
        own = now.ids[part.id]
        if part.soldered:
            # Its fault is the board's.
            fixed = self._of_board(now, own, part.kind, part.name)
            board = str(now.on_board(MAINBOARD))
            return msgspec.structs.replace(fixed, unit=MAINBOARD, group=board)
        return Component(
            id=own,
            kind=part.kind,
            unit=kind_row(self._knowledge, part.kind, "part").unit,
            group=str(own),
            side=Side.DEVICE,
            name=_told(own, part),
            place=now.on_board(part.place),
            known_good=self._is_known_good(own) or part.bench_own,
            external=place is not None and place.external,
        )

    def _is_known_good(self, part: ComponentId) -> bool:
        return part in self._known_good or part.scope == IN_KNOWN_GOOD

    def _unseen(self, now: Configuration, place: Place) -> Component:
        """A part that must be there and does not answer."""
        own = now.parts[place.id]
        kind = self.found[own].kind if own in self.found else own.kind or made_for(place)
        return Component(
            id=own,
            kind=kind,
            unit=kind_row(self._knowledge, kind, "part").unit,
            group=str(own),
            side=Side.DEVICE,
            name=self._say("called.unseen", part=self._title(made_for(place)), place=place.name),
            place=now.on_board(place.id),
            known_good=self._is_known_good(own),
        )

    def _contact(
        self, now: Configuration, place: Place, own: ComponentId, part: Part | None
    ) -> None:
        # What is soldered in has none, in runs in which it does not answer either.
        if place.external or place.kind in _BARE_CONTACT or own in self._soldered:
            return
        told = self._names.get(own) or self._title(made_for(place))
        told = part.name if part is not None else told
        kind = part.kind if part is not None else made_for(place)
        contact = now.contact(place.id)
        self._add(
            Component(
                id=contact,
                kind=CONTACT,
                unit=kind_row(self._knowledge, CONTACT, CONTACT).unit,
                group=str(contact),
                side=Side.UNDETERMINED,
                name=self._say("called.contact", part=told, place=place.name),
                place=now.on_board(place.id),
                part=own,
                joins=(kind, place.kind),
                known_good=now.in_known_good_machine,
            )
        )
