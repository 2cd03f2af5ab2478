"""Which components a reading's place of measurement involves, in one configuration."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from livecheck.records import Controller, Place, Record
from livecheck.topology.configuration import Configuration
from livecheck.topology.graph import Graph
from livecheck.topology.ids import (
    ANTENNA_LEAD,
    DRIVE_LEAD,
    FIRMWARE,
    HUNG,
    MAINBOARD,
    SETTING,
    THE_SOFTWARE,
    ComponentId,
)

Ids = tuple[ComponentId, ...]


class Path(Record, frozen=True):
    """Components between a place of measurement and the mainboard, by role."""

    part: Ids = ()
    place: Ids = ()
    controller: Ids = ()
    upstream: Ids = ()
    contact: Ids = ()
    lead: Ids = ()


class Paths:
    """Finds paths in one configuration."""

    def __init__(self, now: Configuration, graph: Graph) -> None:
        self.now = now
        self.graph = graph
        inventory = now.run.inventory
        self.places: dict[str, Place] = {place.id: place for place in inventory.places}
        self._controllers: dict[str, Controller] = {c.id: c for c in inventory.controllers}
        self._texts = {str(part): part for part in now.parts.values()} | now.ids
        self._homes = {part: place for place, part in now.parts.items()}
        self._below: dict[str, list[str]] = {}
        for place in inventory.places:
            if place.controller is not None:
                self._below.setdefault(place.controller, []).append(place.id)
        self._known_paths: dict[str, Path] = {}

    def of(self, at: str) -> Path:
        """The path of what has this id in this run; empty for the machine as a whole."""
        if at not in self._known_paths:
            self._known_paths[at] = self._find(at)
        return self._known_paths[at]

    def _find(self, at: str) -> Path:
        part = self._texts.get(at)
        if part is not None and part in self._homes:
            return self._of_place(self._homes[part])
        if at in self.places:
            return self._of_place(at)
        if at in self._controllers:
            return self._of_controller(at)
        known = self._known(part) if part is not None else self._out(at)
        return Path(part=(known,)) if known is not None else Path()

    def of_kind(self, kind: str) -> Ids:
        """Every component of a kind in this run's machine; of memory slots those in use."""
        found: Ids = self._kinds.get(kind, ())
        if kind != "memory-slot":
            return found
        # Where no module is, none is reached through it.
        empty = self._on_board(place for place in self.places if place not in self.now.parts)
        return tuple(own for own in found if own not in empty)

    def hardware(self) -> Ids:
        """Everything in this run's machine but the installed system."""
        leads = self._on_board(f"{DRIVE_LEAD}@{place}" for place in self.now.parts)
        every = dict.fromkeys((*(own for owns in self._kinds.values() for own in owns), *leads))
        return tuple(own for own in every if own != THE_SOFTWARE)

    def of_board(self, own: str = MAINBOARD) -> Ids:
        """The board itself, or its firmware."""
        return self._on_board([own])

    def _of_controller(self, at: str) -> Path:
        below = [self._of_place(place) for place in self._below.get(at, ())]
        return Path(
            part=tuple(part for path in below for part in path.part),
            place=tuple(place for path in below for place in path.place),
            controller=self._on_board([at]),
            upstream=self._upstream(at),
            contact=tuple(contact for path in below for contact in path.contact),
            lead=tuple(lead for path in below for lead in path.lead),
        )

    def _of_place(self, at: str) -> Path:
        part = self.now.parts.get(at)
        record = self.places.get(at)
        serves = record.controller if record is not None else None
        contact = self.now.contact(at) if part is not None else None
        known = self._known(part) if part is not None else None
        return Path(
            part=(known,) if known is not None else (),
            place=self._on_board([at]),
            controller=self._on_board([serves]) if serves else (),
            upstream=self._upstream(serves) if serves else (),
            contact=(contact,) if contact is not None and contact in self.graph.index else (),
            lead=self._on_board([f"{DRIVE_LEAD}@{at}"]) if part is not None else (),
        )

    def _known(self, part: ComponentId) -> ComponentId | None:
        return part if part in self.graph.index else None

    def _out(self, at: str) -> ComponentId | None:
        """A part that is not in this run's machine."""
        component = self.graph.named(at)
        return None if component is None else self._known(component.id)

    def _on_board(self, own: Iterable[str]) -> Ids:
        found = map(self.now.on_board, own)
        return tuple(one for one in found if one in self.graph.index)

    def _upstream(self, controller: str) -> Ids:
        chain: list[str] = []
        record = self._controllers.get(controller)
        parent = record.parent if record is not None else None
        while parent is not None and parent not in chain and parent in self._controllers:
            chain.append(parent)
            parent = self._controllers[parent].parent
        return self._on_board(chain)

    @cached_property
    def _kinds(self) -> dict[str, Ids]:
        leads = (f"{ANTENNA_LEAD}@{place}" for place in self.now.parts)
        board = (MAINBOARD, FIRMWARE, HUNG, SETTING, *self._controllers, *self.places, *leads)
        ids = [*self._on_board(board)]
        ids += [known for part in self._homes if (known := self._known(part)) is not None]
        if not self.now.in_known_good_machine:
            ids.append(THE_SOFTWARE)
        found: dict[str, list[ComponentId]] = {}
        for own in ids:
            found.setdefault(self.graph.at(own).kind, []).append(own)
        for place in self.now.parts:
            # A bad contact is felt where a bad place of that kind would be.
            contact = self.now.contact(place)
            if contact in self.graph.index and place in self.places:
                found.setdefault(self.places[place].kind, []).append(contact)
        return {kind: tuple(dict.fromkeys(owns)) for kind, owns in found.items()}
