"""The path tree mainboard -> controller -> place -> part, each node with its state in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.names import Named, Names
from livecheck.records import Inventory, Location, Outcome, Part, Place, Presence, Run
from livecheck.topology.ids import MAINBOARD
from livecheck.wording import count, runs, text, title

_FOLD_FROM: Final = 3
"""That many empty places of one kind behind one controller become one line."""
_SUSPECTED: Final = 0.05


class Node(msgspec.Struct, frozen=True, kw_only=True):
    """One component, and what hangs on it."""

    component: Named
    states: tuple[str, ...]
    level: str
    """``failed``, ``passed``, ``quiet``: how it is drawn, never the only carrier of it."""
    suspicion: float | None = None
    children: tuple[Node, ...] = ()
    folded: int = 1
    """Number of like places this line stands for."""


def path_tree(case_runs: Sequence[Run], location: Location, names: Names) -> Node | None:
    """The tree of the last run of the machine itself; None when no run has one."""
    local = [run for run in case_runs if not run.in_known_good_machine]
    if not local:
        return None
    inventory = local[-1].inventory
    maker = _Maker(inventory, local, location, names)
    return maker.node(MAINBOARD)


class _Maker:
    def __init__(
        self, inventory: Inventory, local: Sequence[Run], location: Location, names: Names
    ) -> None:
        self._names = names
        self._places = {p.id: p for p in inventory.places}
        self._parts = {p.id: p for p in inventory.parts}
        self._suspicion = {
            c.component: c.probability for c in location.candidates if c.probability >= _SUSPECTED
        }
        self._outcomes: dict[str, list[tuple[int, Outcome]]] = {}
        # Parts move, so what failed at a part in another place is told apart.
        self._moved: dict[str, dict[str, list[int]]] = {}
        self._left: dict[str, list[int]] = {}
        for run in local:
            homes = {part.id: part.place for part in run.inventory.parts}
            for reading in run.readings:
                part = self._parts.get(reading.at)
                home = homes.get(reading.at)
                if part is not None and home is not None and home != part.place:
                    if reading.outcome is Outcome.FAILED:
                        self._moved.setdefault(part.id, {}).setdefault(home, []).append(run.number)
                else:
                    self._outcomes.setdefault(reading.at, []).append((run.number, reading.outcome))
                if (
                    home is not None
                    and reading.outcome is Outcome.FAILED
                    and (part is None or part.place != home)
                ):
                    self._left.setdefault(home, []).append(run.number)
        self._below = _below(inventory)
        self._done: set[str] = set()

    def node(self, component: str) -> Node:
        self._done.add(component)
        below = [i for i in self._below.get(component, ()) if i not in self._done]
        children = self._folded([self.node(i) for i in below if i not in self._done])
        if component == MAINBOARD:
            # A ring of parents, or one that is missing, must not lose a component.
            lost = [i for ids in self._below.values() for i in ids if i not in self._done]
            children += [self.node(i) for i in lost if i not in self._done]
        failed, passed = self._judged(component)
        bad = failed or self._left.get(component)
        return Node(
            component=self._names.of(component),
            states=tuple(self._states(component)),
            level="failed" if bad else "passed" if passed else "quiet",
            suspicion=self._suspicion.get(component),
            children=tuple(children),
        )

    def _judged(self, component: str) -> tuple[list[int], int]:
        outcomes = self._outcomes.get(component, ())
        failed = [run for run, outcome in outcomes if outcome is Outcome.FAILED]
        return failed, sum(outcome is Outcome.PASSED for _, outcome in outcomes)

    def _states(self, component: str) -> list[str]:
        failed, passed = self._judged(component)
        states = []
        place = self._places.get(component)
        if place is not None and (place.presence is not Presence.SEEN or not self._below.get(
            component
        )):  # fmt: skip
            states.append(title(place.presence))
        part = self._parts.get(component)
        if part is not None and part.soldered:
            states.append(text("tree.soldered"))
        if failed:
            states.append(count("tree.failed", len(failed), runs=runs(failed)))
        left = self._left.get(component)
        if left:
            states.append(count("tree.below", len(left), runs=runs(left)))
        if passed:
            states.append(count("tree.passed" if not failed else "tree.also-passed", passed))
        for home, found in self._moved.get(component, {}).items():
            where = self._names.of(home).label
            states.append(count("tree.elsewhere", len(found), runs=runs(found), place=where))
        read = failed or passed or left
        if not read and (part is not None or component not in self._below):
            states.append(text("tree.untested"))
        return states

    def _folded(self, nodes: list[Node]) -> list[Node]:
        """Several empty places of one kind, with nothing read at them, become one line."""
        alike: dict[tuple[str, tuple[str, ...]], list[Node]] = {}
        for node in nodes:
            plain = (
                node.component.role == "place"
                and not node.children
                and node.level == "quiet"
                and node.suspicion is None
            )
            key = (node.component.kind if plain else node.component.id, node.states)
            alike.setdefault(key, []).append(node)
        folded: list[Node] = []
        for group in alike.values():
            if len(group) < _FOLD_FROM:
                folded += group
            else:
                folded.append(msgspec.structs.replace(group[0], folded=len(group)))
        return folded


def _below(inventory: Inventory) -> dict[str, list[str]]:
    """Ids by the id above them; what hangs on nothing known hangs on the mainboard."""
    known = {c.id for c in inventory.controllers} | {p.id for p in inventory.places}
    below: dict[str, list[str]] = {}

    def hang(component: str, above: str | None) -> None:
        home = above if above in known and above != component else MAINBOARD
        below.setdefault(str(home), []).append(component)

    for controller in inventory.controllers:
        hang(controller.id, controller.parent)
    for place in inventory.places:
        hang(place.id, place.controller)
    for part in inventory.parts:
        hang(part.id, part.place)
    return below


def fitted(inventory: Inventory) -> list[tuple[Part, Place | None]]:
    """Every part with the place it sits in, where the run knows it."""
    places = {p.id: p for p in inventory.places}
    return [(part, places.get(part.place)) for part in inventory.parts]
