"""The part that the customer misses, in each run: whether anything of its kind answers.

A pad or a camera that never answered leaves no trace on any bus. Which one is missed has to be
told; then that nothing of its kind answers is a failure, at the plug it would be on.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import msgspec

from livecheck.records import Complaint, Knowledge, Outcome, Place, Presence, Reading, Run
from livecheck.topology.configuration import made_for
from livecheck.topology.graph import Graph
from livecheck.topology.ids import ANTENNA_LEAD, FIRMWARE, HUNG, MAINBOARD, SETTING, SOFTWARE
from livecheck.topology.paths import Paths

PART: Final = "part.missed"
BLUETOOTH_HALF: Final = "bluetooth.missed"
BLUETOOTH: Final = "bluetooth"
"""Half of a wireless card, and no part of its own."""
_CARD: Final = "wireless-card"
_EXPLAIN_ANYTHING: Final = (MAINBOARD, FIRMWARE, HUNG, SETTING, SOFTWARE)
PLUGGED: Final = ("touchpad", "keyboard", "camera")
"""Kinds on a plug of their own inside, and in every laptop that its owner misses one in."""


def with_missed(runs: Sequence[Run], kinds: Iterable[str], knowledge: Knowledge) -> tuple[Run, ...]:
    """The runs, with what was looked for of each kind that the customer misses.

    Nothing where a kind answered in the first run: then something else is wrong with it.
    """
    found = tuple(runs)
    missing = found and found[0].complaint is Complaint.PART_MISSING
    for kind in kinds if missing else ():
        if kind in (*PLUGGED, BLUETOOTH) and not _answers(found[0], kind):
            found = tuple(_looked_for(run, kind, knowledge) for run in found)
    return found


def _answers(run: Run, kind: str) -> bool:
    if kind == BLUETOOTH:
        return any(device.subsystem == BLUETOOTH for device in run.inventory.devices)
    return any(part.kind == kind for part in run.inventory.parts)


def _looked_for(run: Run, kind: str, knowledge: Knowledge) -> Run:
    answers = _answers(run, kind)
    at = _where(run, kind)
    if at is None or run.in_known_good_machine or run.inside:
        return run
    title = "Bluetooth" if kind == BLUETOOTH else knowledge.kinds[kind].title
    reading = Reading(
        check=BLUETOOTH_HALF if kind == BLUETOOTH else PART,
        at=at,
        outcome=Outcome.PASSED if answers else Outcome.FAILED,
        says=knowledge.say("missed.answers" if answers else "missed.silent", name=title),
    )
    places = run.inventory.places
    if at not in {*(one.id for one in places), *(one.id for one in run.inventory.parts)}:
        places = (*places, plug(kind, knowledge))
    return msgspec.structs.replace(
        run,
        inventory=msgspec.structs.replace(run.inventory, places=places),
        readings=(*run.readings, reading),
    )


def plug(kind: str, knowledge: Knowledge) -> Place:
    """Where a part would be that no bus tells of."""
    return Place(
        id=f"internal:{kind}",
        kind="internal-connector",
        name=knowledge.say("missed.plug", name=knowledge.kinds[kind].title),
        presence=Presence.NOTHING_ANSWERS,
        expects=kind,
    )


def _where(run: Run, kind: str) -> str | None:
    """What it is looked for at; None: where nothing of the machine is left to ask."""
    wanted = _CARD if kind == BLUETOOTH else kind
    fitted = next((part.id for part in run.inventory.parts if part.kind == wanted), None)
    return fitted if fitted is not None or kind == BLUETOOTH else f"internal:{kind}"


def on_the_way(graph: Graph, kinds: Iterable[str]) -> frozenset[int]:
    """Components on the way to what is missed, and those that explain anything; empty where the
    machine has none of these kinds, or something else is complained of."""
    wanted = {_CARD if kind == BLUETOOTH else kind for kind in kinds}
    found: set[int] = set()
    for now in graph.home if graph.complaint is Complaint.PART_MISSING else ():
        paths = Paths(now, graph)
        for place in now.run.inventory.places:
            part = now.parts.get(place.id)
            if (now.kinds.get(part) if part is not None else made_for(place)) in wanted:
                path = paths.of(place.id)
                found |= {
                    graph.index[own] for role in msgspec.structs.astuple(path) for own in role
                }
    besides = (*_EXPLAIN_ANYTHING, *((ANTENNA_LEAD,) if _CARD in wanted else ()))
    every = {n for n, one in enumerate(graph.components) if one.kind in besides}
    return frozenset(found | every) if found else frozenset()
