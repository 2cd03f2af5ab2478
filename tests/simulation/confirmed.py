"""Confirmed cases of one world: what was read of a machine as it came, and what the repair proved.

They are made once and kept in a file: neither training nor scoring draws anything anew.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Final, NamedTuple

import msgspec

from livecheck.case_index.summary import fitted
from livecheck.records import Knowledge, Proved, Run
from livecheck.topology.graph import Graph, build
from livecheck.topology.history import configurations
from tests.simulation.worlds.fault import Fault
from tests.simulation.worlds.held import OneShop
from tests.simulation.worlds.kind import (
    BOARD,
    CONTACT,
    CONTROLLER,
    FIRMWARE,
    HUNG,
    LEAD,
    PART,
    PLACE,
    SETTING,
    SOFTWARE,
)

NO_FAULT: Final = "no-fault"
LEADS: Final = {"drive": "drive-lead", "wireless-card": "antenna-lead"}
"""What hangs on a lead -> the kind of that lead; of other parts it is their place's own."""


class Confirmed(NamedTuple):
    """One case, closed."""

    runs: tuple[Run, ...]
    """Looks at the machine as it came; nothing was moved between them."""
    proved: Proved


def confirmed(machine: OneShop, case: str, looks: int) -> Confirmed | None:
    """What a shop knows of a machine in the end; None: nothing that was mended could prove it."""
    for _ in range(looks):
        machine.look()
    runs = tuple(_of_its_own(run, case) for run in machine.runs)
    graph = build(configurations(runs), machine.knowledge)
    component = NO_FAULT
    if machine.came_with:
        found = _component(machine, machine.came_with[0], graph)
        if found is None:
            return None
        component = found
    return Confirmed(runs, _proved(case, component, graph, runs))


def _of_its_own(run: Run, case: str) -> Run:
    """Each case is another customer's machine."""
    board = msgspec.structs.replace(run.inventory.machine, board_serial=f"BRD-{case}")
    inventory = msgspec.structs.replace(run.inventory, machine=board)
    return msgspec.structs.replace(run, inventory=inventory)


def _component(machine: OneShop, fault: Fault, graph: Graph) -> str | None:
    """The program's id of what is at fault."""
    where, seat, of = fault.where, fault.kind.seat, fault.kind.of
    at = next((p for p, item in machine.homes.items() if item.key == where), where)
    ids = {
        PART: (where, f"{of}@{at}"),
        PLACE: (where,),
        LEAD: (f"{LEADS[of]}@{at}" if of in LEADS else at,),
        CONTACT: (f"contact:{at}", at),
        CONTROLLER: (where,),
        BOARD: ("mainboard",),
        FIRMWARE: ("firmware",),
        SOFTWARE: ("software",),
        SETTING: ("setting",),
        HUNG: ("hung-controller",),
    }
    return next((own for own in ids.get(seat, ()) if own in graph.by_text), None)


def _proved(case: str, component: str, graph: Graph, runs: tuple[Run, ...]) -> Proved:
    found = graph.named(component)
    return Proved(
        case=case,
        recorded=f"2024-01-02T09:00:00Z {case}",
        component=component,
        kind=found.kind if found is not None else component,
        proved=True,
        complaint=graph.complaint,
        fitted=fitted(runs[-1].inventory),
    )


def mistaken(one: Confirmed, dice: random.Random, knowledge: Knowledge) -> Confirmed:
    """The same case with another outcome, as whoever mixes up two jobs records it."""
    graph = build(configurations(one.runs), knowledge)
    others = [*graph.by_text, NO_FAULT]
    others.remove(one.proved.component)
    wrong = _proved(one.proved.case, dice.choice(sorted(others)), graph, one.runs)
    return one._replace(proved=wrong)


class Shelf(NamedTuple):
    """Which cases."""

    world: int
    seed: int
    looks: int

    def cases(self, count: int, knowledge: Knowledge, keep: Path | None) -> list[Confirmed]:
        """So many confirmed cases; kept in a file if there is a folder to keep them in."""
        name = f"confirmed-{self.world}-{self.seed}-{self.looks}-{count}.json"
        file = keep / name if keep else None
        if file and file.exists():
            return msgspec.json.decode(file.read_bytes(), type=list[Confirmed])
        found: list[Confirmed] = []
        number = self.seed * 1_000_003
        while len(found) < count:
            machine = OneShop(self.world, number, knowledge)
            one = confirmed(machine, f"case-{number}", self.looks)
            found += [one] if one is not None else []
            number += 1
        if file:
            file.write_bytes(msgspec.json.encode(found))
        return found
