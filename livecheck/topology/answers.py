"""What the technician sees fitted where the machine sees nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.records import Answer, Inventory, Place, PluggedIn, Presence

JACK: Final = "power-jack"
AMBIGUOUS_PLACES: Final = frozenset({JACK, "battery-bay"})
"""Kinds of places where an empty one and one whose part is silent look alike."""


def apply_answers(found: Inventory, answers: Sequence[Answer]) -> Inventory:
    """The inventory with the parts that the technician sees in places where none answers."""
    taken = {part.place for part in found.parts}
    about = {answer.place for answer in answers if isinstance(answer, PluggedIn)}
    silent = {
        place.id: msgspec.structs.replace(
            place,
            presence=Presence.NOTHING_ANSWERS,
            told_fitted=True,
        )
        for place in found.places
        if place.id in about - taken
    }
    places = tuple(silent.get(place.id, place) for place in found.places)
    return msgspec.structs.replace(found, places=places)


def ambiguous_places(found: Inventory) -> tuple[Place, ...]:
    """Jacks and battery bays of which only the technician knows whether they are empty.

    None of the jacks while power comes in at one: the others then are not in use.
    """
    taken = {part.place for part in found.parts}
    open_places = [place for place in found.places if place.kind in AMBIGUOUS_PLACES]
    fed = any(place.id in taken for place in open_places if place.kind == JACK)
    return tuple(p for p in open_places if p.id not in taken and not (fed and p.kind == JACK))
