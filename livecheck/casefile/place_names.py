"""What the shop calls the places of a board: kept by model, so that the next one has them too.

``livecheck-cases/place-names.json``. Records of runs keep the names they were made with; the
shop's stand over them when they are read.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

import msgspec

from livecheck import guarded
from livecheck.casefile import atomic, lock
from livecheck.records import DamagedRecord, Inventory, Machine, Record, Run, decode, encode

FILE: Final = "place-names.json"
MOST_LETTERS: Final = 60


class PlaceNames(Record, frozen=True, kw_only=True):
    """Names by board model and id of the place, which follows the wiring."""

    boards: dict[str, dict[str, str]] = msgspec.field(default_factory=dict)


def board_of(machine: Machine) -> str | None:
    """The model whose boards are wired alike; None: it gives none."""
    words = (machine.board_vendor, machine.board_product)
    return " ".join(word for word in words if word) if machine.board_product else None


def read(cases: Path) -> PlaceNames:
    """The names; none where none were given. Raises OSError and DamagedRecord."""
    try:
        return decode(guarded.read(cases / FILE), PlaceNames)
    except FileNotFoundError:
        return PlaceNames()


def known(cases: Path) -> PlaceNames:
    """The names as far as they can be read: without them a place has its own name."""
    try:
        return read(cases)
    except (OSError, DamagedRecord):
        return PlaceNames()


def keep(cases: Path, board: str, place: str, name: str) -> None:
    """Keep what a place is called; an empty name takes it away. Raises as ``read`` does."""
    with lock.held(cases):
        before = read(cases)
        places = {**before.boards.get(board, {}), place: name[:MOST_LETTERS].strip()}
        own = {key: word for key, word in places.items() if word}
        atomic.save(cases / FILE, encode(PlaceNames(boards={**before.boards, board: own})))


def of(cases: Path, machine: Machine) -> dict[str, str]:
    """Names of the places of a machine's board, as far as they are known."""
    return known(cases).boards.get(board_of(machine) or "", {})


def keep_told(cases: Path, machine: Machine, called: Mapping[str, str]) -> None:
    """Keep what a guided check was told, where the board gives a model. Raises as ``read`` does."""
    board = board_of(machine)
    if board is None:
        return
    atomic.make_folder(cases)
    for place, name in called.items():
        keep(cases, board, place, name)


def own_words(cases: Path) -> frozenset[str]:
    """What the shop calls places, of whatever board."""
    return frozenset(name for own in known(cases).boards.values() for name in own.values())


def renamed(run: Run, names: PlaceNames) -> Run:
    """The run with the shop's names for its places."""
    board = board_of(run.inventory.machine)
    own = names.boards.get(board, {}) if board is not None else {}
    return msgspec.structs.replace(run, inventory=named(run.inventory, own)) if own else run


def named(found: Inventory, own: Mapping[str, str]) -> Inventory:
    """An inventory with the shop's names for its places."""
    places = tuple(msgspec.structs.replace(p, name=own.get(p.id, p.name)) for p in found.places)
    return msgspec.structs.replace(found, places=places)
