"""The machine as far as every laptop is known, for one that cannot be asked."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Final

import msgspec

from livecheck.records import Controller, Inventory, Part, Place, Reading, Run

WHERE: Final = {
    "machine": "machine",
    "adapter": "adapter@jack:AC",
    "jack": "jack:AC",
    "battery": "battery@bay:BAT0",
    "button": "connector:power-button",
    "memory": "memory-controller",
    "display": "display-controller",
    "panel": "panel@panel:internal",
    "coin-cell": "coin-cell@connector:coin-cell",
}
"""Where a rule's reading is taken -> component id in ``machine()``."""
_ASSUMED: Final = "The machine does not start: what is fitted was not read but assumed."
_KEPT: Final = "The machine does not start: what is fitted is what an earlier run read."


def machine() -> Inventory:
    """What every laptop has, for one that cannot be asked."""
    return Inventory(
        controllers=(
            Controller(id="power-controller", kind="power-controller", name="charging circuit"),
            Controller(id="memory-controller", kind="memory-controller", name="memory controller"),
            Controller(id="display-controller", kind="display-controller", name="graphics circuit"),
        ),
        places=(
            _place("jack:AC", "power-jack", "power jack", "power-controller"),
            _place("bay:BAT0", "battery-bay", "battery connector", "power-controller"),
            _place("connector:power-button", "power-button", "power button", "power-controller"),
            _place("connector:coin-cell", "internal-connector", "coin-cell holder", None),
            _place("dimm:1", "memory-slot", "memory slot", "memory-controller"),
            _place("socket:1", "processor-socket", "processor socket", None),
            _place("cooling", "cooling-mount", "heatsink mount", None),
            _place("panel:internal", "panel-connector", "screen lead", "display-controller"),
        ),
        parts=(
            _part("adapter", "jack:AC", "adapter"),
            _part("battery", "bay:BAT0", "battery"),
            _part("coin-cell", "connector:coin-cell", "coin cell"),
            _part("memory-module", "dimm:1", "memory"),
            _part("processor", "socket:1", "processor"),
            _part("cooling", "cooling", "cooling assembly"),
            _part("panel", "panel:internal", "panel"),
        ),
        gaps=(_ASSUMED,),
    )


def assumed(inventory: Inventory) -> bool:
    """Whether what is fitted was not read at that start."""
    return not {_ASSUMED, _KEPT}.isdisjoint(inventory.gaps)


def as_it_was(runs: Sequence[Run], readings: Sequence[Reading] = ()) -> Inventory:
    """The machine of a case's last run that read it, and what is on every laptop beside it.

    A part that was away then and was measured now is in its place again.
    """
    own = (run for run in reversed(runs) if not run.in_known_good_machine)
    read = next((run.inventory for run in own if not assumed(run.inventory)), None)
    if read is None:
        return machine()
    whole = _filled_up(read)
    back = tuple(_put_back(whole, {one.at for one in readings}))
    return msgspec.structs.replace(whole, parts=(*whole.parts, *back), gaps=(*read.gaps, _KEPT))


def _put_back(here: Inventory, measured: Collection[str]) -> Iterator[Part]:
    every, there = _kinds(machine()), {part.kind for part in here.parts}
    filled = {part.place for part in here.parts}
    for part in machine().parts:
        empty = (p.id for p in here.places if p.kind == every[part.place] and p.id not in filled)
        place = next(empty, None)
        if part.id in measured and part.kind not in there and place is not None:
            yield _part(part.kind, place, part.name)


def all_along(runs: Sequence[Run]) -> tuple[Run, ...]:
    """The runs; what a worksheet took to be there was there whenever the machine was read."""
    if not any(_KEPT in run.inventory.gaps for run in runs):
        return tuple(runs)
    return tuple(
        run
        if run.in_known_good_machine or assumed(run.inventory)
        else msgspec.structs.replace(run, inventory=_filled_up(run.inventory))
        for run in runs
    )


def _filled_up(read: Inventory) -> Inventory:
    """An inventory with what every laptop has and no bus tells of."""
    every, kinds = machine(), _kinds(machine())
    owns = {kind: own for own, kind in _kinds(read).items()}
    owns |= {one.kind: one.id for one in every.controllers if one.kind not in owns}
    places = tuple(
        msgspec.structs.replace(one, controller=owns.get(kinds.get(one.controller or "", "")))
        for one in every.places
        if one.kind not in owns
    )
    inside = {one.id for one in places}
    own = tuple(one for one in every.controllers if owns[one.kind] == one.id)
    parts = tuple(one for one in every.parts if one.kind not in owns and one.place in inside)
    return msgspec.structs.replace(
        read,
        controllers=(*(one for one in read.controllers if one not in own), *own),
        places=(*read.places, *places),
        parts=(*read.parts, *parts),
    )


def placed_here(readings: Sequence[Reading], here: Inventory) -> tuple[Reading, ...]:
    """Readings of the assumed machine, at the same component of the one that is here.

    Where it has none of that kind, or several, they are the whole machine's: the check table
    still says which kinds they accuse.
    """
    kinds_assumed = _kinds(machine())
    found: dict[str, list[str]] = {}
    for component, kind in _kinds(here).items():
        found.setdefault(kind, []).append(component)
    placed = []
    for reading in readings:
        same = found.get(kinds_assumed.get(reading.at, ""), [])
        at = same[0] if len(same) == 1 else WHERE["machine"]
        placed.append(msgspec.structs.replace(reading, at=at))
    return tuple(placed)


def _kinds(inventory: Inventory) -> dict[str, str]:
    kinds = {one.id: one.kind for one in inventory.controllers}
    kinds |= {one.id: one.kind for one in inventory.places}
    return kinds | {one.id: one.kind for one in inventory.parts}


def _place(own: str, kind: str, name: str, controller: str | None) -> Place:
    return Place(id=own, kind=kind, name=name, controller=controller)


def _part(kind: str, place: str, name: str) -> Part:
    return Part(id=f"{kind}@{place}", kind=kind, name=name, place=place)
