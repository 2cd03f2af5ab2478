"""A part that was in its place all along, as whoever put it in anew tells afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import msgspec

from livecheck.records import Complaint, Knowledge, Outcome, Place, Presence, Reading, Run
from livecheck.topology.identity import trusted, without_scheme

BATTERY: Final = "power.battery-present"
GUIDED: Final = "guided."
TRIED: Final = "complaint.by-hand"
CARD: Final = "kernel.mmc"
"""Nothing is said of a slot that no card is in."""


def came_to_light(runs: Sequence[Run], knowledge: Knowledge) -> tuple[Run, ...]:
    """The runs, where a place that seemed empty held a part: there nothing answered.

    Nobody takes out of a place, and puts back, what is not in it.
    """
    seen = [_tried_by_hand(_with_card(run), knowledge) for run in runs]
    told = _with_battery(seen, knowledge)
    home = [number for number, run in enumerate(runs) if not run.in_known_good_machine]
    for before, after in pairwise(home):
        for place, name in _put_back(told[before], runs[after]):
            kind = knowledge.kinds.get(place.kind)
            if kind is not None and kind.silent_check:
                says = knowledge.say("came-to-light", name=name)
                told[before] = _silent(told[before], place.id, kind.silent_check, says)
    return tuple(told)


def _with_card(run: Run) -> Run:
    """The run, where a slot whose card the kernel got no answer from holds one."""
    fitted = {part.place for part in run.inventory.parts}
    silent = {r.at for r in run.readings if r.check == CARD and r.outcome is Outcome.FAILED}
    places = tuple(
        msgspec.structs.replace(one, presence=Presence.NOTHING_ANSWERS)
        if one.kind == "card-slot" and one.id in silent - fitted
        else one
        for one in run.inventory.places
    )
    inventory = msgspec.structs.replace(run.inventory, places=places)
    return msgspec.structs.replace(run, inventory=inventory)


def _tried_by_hand(run: Run, knowledge: Knowledge) -> Run:
    """The run, where something is missed and fails by hand too: it is not the system's alone."""
    if run.complaint is not Complaint.PART_MISSING:
        return run
    says = knowledge.say("came-to-light-by-hand")
    failed = {r.at for r in run.readings
              if r.check.startswith(GUIDED) and r.outcome is Outcome.FAILED}  # fmt: skip
    told = (Reading(check=TRIED, at=at, outcome=Outcome.FAILED, says=says) for at in sorted(failed))
    return msgspec.structs.replace(run, readings=(*run.readings, *told))


def _with_battery(runs: list[Run], knowledge: Knowledge) -> list[Run]:
    """The runs, where one who says that it does not charge brought a battery in its bay.

    As long as none was seen: what was seen before was taken out.
    """
    told = list(runs)
    for number, run in enumerate(runs):
        bays = [one for one in run.inventory.places if one.kind == "battery-bay"]
        held = any(part.kind == "battery" for part in run.inventory.parts)
        if run.complaint is not Complaint.NOT_CHARGING or run.in_known_good_machine or held:
            break
        for bay in bays[:1]:
            says = knowledge.say("came-to-light-battery", place=bay.name)
            told[number] = _silent(run, bay.id, BATTERY, says)
    return told


def _put_back(before: Run, after: Run) -> list[tuple[Place, str]]:
    """(Place, name of its part) of what was put in anew where nothing had been seen."""
    names = {name for own in after.known_good for name in (own, without_scheme(own))}
    known = trusted(after.inventory.parts)
    parts = {
        part.place: part.name
        for part in after.inventory.parts
        if names.isdisjoint({part.id, known.get(part.id, ""), part.serial or ""})
    }
    return [
        (place, parts[place.id])
        for place in before.inventory.places
        if place.presence is Presence.EMPTY and place.id in after.reseated and place.id in parts
    ]


def _silent(run: Run, place: str, check: str, says: str) -> Run:
    reading = Reading(check=check, at=place, outcome=Outcome.FAILED, says=says)
    places = tuple(
        msgspec.structs.replace(one, presence=Presence.NOTHING_ANSWERS) if one.id == place else one
        for one in run.inventory.places
    )
    others = tuple(r for r in run.readings if (r.check, r.at) != (check, place))
    return msgspec.structs.replace(
        run,
        inventory=msgspec.structs.replace(run.inventory, places=places),
        readings=(*others, reading),
    )
