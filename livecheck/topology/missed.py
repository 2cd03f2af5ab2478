"""The part that the customer misses, in each run: whether anything of its kind answers.

A pad or a camera that never answered leaves no trace on any bus. Which one is missed has to be
told; then that nothing of its kind answers is a failure, at the plug it would be on.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import msgspec

from livecheck.records import Complaint, Knowledge, Outcome, Part, Place, Presence, Reading, Run
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
PLUGGED: Final = ("touchpad", "keyboard", "camera", "drive", _CARD)
"""Kinds with a place of their own inside, in every laptop that its owner misses one in."""
_TAKES: Final = {"drive": ("sata-port", "pcie-slot"), _CARD: ("pcie-slot",)}
"""Kinds of place that one may be in, where the place does not say what it is made for."""


def with_missed(runs: Sequence[Run], kinds: Iterable[str], knowledge: Knowledge) -> tuple[Run, ...]:
    """The runs, with what was looked for of each kind that the customer misses.

    Nothing where a kind answered in the first run: then something else is wrong with it.
    """
    found = tuple(runs)
    missing = found and found[0].complaint is Complaint.PART_MISSING
    for kind in kinds if missing else ():
        if kind in (*PLUGGED, BLUETOOTH) and not _answers(found[0], kind):
            wanted = _CARD if kind == BLUETOOTH else kind
            home = _home(found, wanted) or plug(wanted, knowledge)
            found = tuple(_looked_for(run, kind, home, knowledge) for run in found)
    return found


def _home(runs: Sequence[Run], kind: str) -> Place | None:
    """Where it answers in another run, or the one empty place that it may belong into."""
    for run in runs:
        homes = {part.place for part in _inside(run, kind)}
        if found := next((one for one in run.inventory.places if one.id in homes), None):
            return msgspec.structs.replace(found, expects=kind)
    # A place that senses something which does not answer is it, before one that is empty.
    for presence in (Presence.NOTHING_ANSWERS, Presence.EMPTY):
        places = [one for one in runs[0].inventory.places if one.presence is presence]
        may = [one for one in places if _may_take(one, kind)]
        if may:
            return msgspec.structs.replace(may[0], expects=kind) if len(may) == 1 else None
    return None


def _may_take(place: Place, kind: str) -> bool:
    if place.external:
        return False
    return place.expects == kind or (place.expects is None and place.kind in _TAKES.get(kind, ()))


def _answers(run: Run, kind: str) -> bool:
    if kind == BLUETOOTH:
        return any(device.subsystem == BLUETOOTH for device in run.inventory.devices)
    return bool(_inside(run, kind))


def _inside(run: Run, kind: str) -> list[Part]:
    """The machine's own parts of a kind: no stick of the bench's, no box at a socket outside."""
    outside = {place.id for place in run.inventory.places if place.external}
    return [
        part for part in run.inventory.parts
        if part.kind == kind and not part.bench_own and part.place not in outside
    ]  # fmt: skip


def _looked_for(run: Run, kind: str, home: Place, knowledge: Knowledge) -> Run:
    answers = _answers(run, kind)
    at = _where(run, kind, home)
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
    if at == home.id:
        silent = msgspec.structs.replace(home, presence=Presence.NOTHING_ANSWERS)
        places = (*(one for one in places if one.id != at), silent)
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


def _where(run: Run, kind: str, home: Place) -> str | None:
    """What it is looked for at; None: where nothing of the machine is left to ask."""
    wanted = _CARD if kind == BLUETOOTH else kind
    fitted = next((part.id for part in _inside(run, wanted)), None)
    return fitted if fitted is not None or kind == BLUETOOTH else home.id


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
