"""What the bench worksheet asks for, answered beside a machine that runs: pure."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from livecheck.diagnosis.worksheet_machine import machine
from livecheck.diagnosis.worksheet_table import Measurement
from livecheck.records import Complaint, Inventory, Reading

MACHINE = "machine"


def by_looking(step: Measurement, complaint: Complaint) -> bool:
    """Whether three keys can answer it, on a machine that is on: what else is on the worksheet
    is measured with a meter, or takes pressing the power key."""
    return step.asks == "choice" and step.complaints == (complaint,)


def placed_here(readings: Sequence[Reading], here: Inventory) -> tuple[Reading, ...]:
    """Readings of the worksheet's assumed machine, at the same component of the one that is here.

    Where it has none of that kind, or several, they are the whole machine's: the check table
    still says which kinds they accuse.
    """
    assumed = _kinds(machine())
    found: dict[str, list[str]] = {}
    for component, kind in _kinds(here).items():
        found.setdefault(kind, []).append(component)
    placed = []
    for reading in readings:
        same = found.get(assumed.get(reading.at, ""), [])
        at = same[0] if len(same) == 1 else MACHINE
        placed.append(msgspec.structs.replace(reading, at=at))
    return tuple(placed)


def _kinds(inventory: Inventory) -> dict[str, str]:
    kinds = {one.id: one.kind for one in inventory.controllers}
    kinds |= {one.id: one.kind for one in inventory.places}
    return kinds | {one.id: one.kind for one in inventory.parts}
