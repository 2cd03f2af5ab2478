"""What is tried without, or elsewhere, before any part of the machine is suspected.

What hangs on it by a plug, a card in its reader, and a module that slows the other memory.

Common practice of the trade, no source: a lead, a box or a card is changed in a minute.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from livecheck.diagnosis.steps import wording
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.moves import possible
from livecheck.diagnosis.steps.prediction import results
from livecheck.diagnosis.steps.situation import Situation, whole
from livecheck.records import Complaint, NextStep, Part, Place
from livecheck.topology.graph import Component
from livecheck.topology.unlike_memory import unlike

_CARD: Final = "sd-card"
_CARDS: Final = (Action.SWAP, Action.KNOWN_GOOD_MACHINE)
"""Another card in this slot, then this card elsewhere."""
_AWAY: Final = (Complaint.PART_MISSING, Complaint.INTAKE)
"""Complaints that a start without it tells nothing of."""


def steps(here: Situation) -> Iterator[NextStep]:
    """Steps with each part outside at which something fails now, best first; without a memory
    module that slows the others."""
    failed = [one for one in here.found if one.failed and one.run == here.looked]
    seen: set[str] = set()
    for one in failed:
        held = here.now.parts.get(one.reading.at) or here.now.part_at(one.reading.at)
        part = here.component(held) if held is not None and not one.beside else None
        if part is None or str(part.id) in seen:
            continue
        seen.add(str(part.id))
        if part.kind == _CARD:
            yield from _card(here, part)
        elif part.external:
            yield from _plugged(here, one.reading.at)
    yield from _unlike(here)


def _unlike(here: Situation) -> Iterator[NextStep]:
    """Of what is slow and fails nowhere: a start without the slower of unlike modules, once."""
    slow = here.graph.complaint is Complaint.SLOW and not here.fails_now
    pair = unlike(here.now.run.inventory) if slow else None
    part = here.component(here.now.ids[pair[0].id]) if pair and not pair[0].soldered else None
    always = part is not None and all(one.home(part.id) is not None for one in here.graph.home)
    if part and always and here.bench.allows(Action.REMOVE, part.kind, str(part.id)):
        minutes = here.bench.covers([part.kind]) + here.bench.hands(part.kind) + here.bench.trial()
        yield wording.bare(here, Action.REMOVE, str(part.id), "unlike.why", minutes)


def _card(here: Situation, card: Component) -> Iterator[NextStep]:
    own = [move for move in possible(here) if move.target == str(card.id)]
    for action in _CARDS:
        for move in own:
            if move.action == action:
                yield wording.step(here, move, results(move.tests, whole(here.belief)))


def _plugged(here: Situation, at: str) -> Iterator[NextStep]:
    """Without the outermost box first; at another socket by another lead, where that was done."""
    box = _outermost(here, at)
    if box is None or box.bench_own:
        return
    own = here.now.ids[box.id]
    known = [one for one in here.graph.home if one.home(own) is not None]
    since = [one for one in here.graph.home if one.run.number >= known[0].run.number]
    without = len(known) < len(since)
    tells = here.graph.complaint not in _AWAY and not without
    if tells and here.bench.allows(Action.REMOVE, box.kind, str(own)):
        yield wording.plain(here, Action.REMOVE, str(own), "outside.without")
        return
    other = _socket(here, box.place)
    moved = len({one.home(own) for one in known}) > 1
    if other and not moved and here.bench.allows(Action.MOVE, box.kind, str(own)):
        yield wording.plain(here, Action.MOVE, str(own), "outside.elsewhere", other.id)


def _outermost(here: Situation, at: str) -> Part | None:
    """What is in the machine's own socket, of the chain of hubs that a part hangs on."""
    parts = here.now.run.inventory.parts
    part = next((one for one in parts if at in (one.id, one.place)), None)
    if part is None or part.usb is None:
        return None
    above = [one for one in parts if one.usb and f"{part.usb}.".startswith(f"{one.usb}.")]
    return min(above, key=lambda one: len(one.usb or ""))


def _socket(here: Situation, place: str) -> Place | None:
    """Another socket of the machine with nothing in it."""
    free = (
        one
        for one in here.now.run.inventory.places
        if one.external and one.kind == "usb-port" and one.id not in here.now.parts
    )
    return next((one for one in free if one.id != place and "." not in one.id.split(":")[-1]), None)
