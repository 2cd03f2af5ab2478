"""What parts and places are called over all runs of a case. Pure.

A place keeps the name it had when something sat in it first, whatever sits there now. Two
parts of one model are told apart by the end of their serial numbers.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Final

import msgspec

from livecheck.records import Inventory, Part, Place, Run

ENDS: Final = (4, 6, 9)
"""Letters of the end of a serial number: as few as tell the parts apart."""
BENCH_OWN: Final = "the bench's own"
SAID: Final = "\u00a0("
"""Before the same in another language, where a name was put into one."""


def named(runs: Sequence[Run]) -> tuple[Run, ...]:
    """The runs, with one name for each part and place of the case."""
    parts = _parts(part for run in runs for part in run.inventory.parts)
    places: dict[str, str] = {}
    for run in runs:
        if run.in_known_good_machine:
            continue
        taken = {part.place for part in run.inventory.parts}
        places |= {p.id: p.name for p in run.inventory.places
                   if p.id in taken and p.id not in places}  # fmt: skip
    return tuple(
        msgspec.structs.replace(
            run,
            inventory=_renamed(run.inventory, parts, {} if run.in_known_good_machine else places),
        )
        for run in runs
    )


def _renamed(found: Inventory, parts: dict[str, str], places: dict[str, str]) -> Inventory:
    def part(one: Part) -> Part:
        return msgspec.structs.replace(one, name=parts.get(one.id, one.name))

    def place(one: Place) -> Place:
        return msgspec.structs.replace(one, name=places.get(one.id, one.name))

    return msgspec.structs.replace(
        found, parts=tuple(map(part, found.parts)), places=tuple(map(place, found.places))
    )


def _parts(seen: Iterable[Part]) -> dict[str, str]:
    """Id -> name; only of parts whose own name does not tell them apart."""
    alike: dict[str, dict[str, Part]] = defaultdict(dict)
    for part in seen:
        alike[part.name][part.id] = part
    names = {}
    for name, group in alike.items():
        for own, end in _ends(group.values()).items():
            names[own] = f"{name} (…{end})"
        for own, part in group.items():
            if part.bench_own and BENCH_OWN not in name and SAID not in name:
                names[own] = f"{name} ({BENCH_OWN})"
    return names


def _ends(group: Iterable[Part]) -> dict[str, str]:
    """Id -> end of the serial, of parts that are called alike; none for one alone."""
    serials = {part.id: _serial(part) for part in group}
    if len(serials) < 2:
        return {}
    for letters in ENDS:
        ends = {own: serial[-letters:] for own, serial in serials.items() if serial}
        if len(set(ends.values())) == len(ends):
            return ends
    return {own: serial for own, serial in serials.items() if serial}


def _serial(part: Part) -> str:
    return (part.serial or (part.identity or "").partition(":")[2]).strip()
