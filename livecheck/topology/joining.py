"""A part that did not answer, and is seen later: one part, by one id in all runs."""

from __future__ import annotations

from collections.abc import Mapping, Set
from itertools import pairwise

import msgspec

from livecheck.records import PartIs
from livecheck.topology.configuration import Configuration
from livecheck.topology.ids import ComponentId


def joined(found: tuple[Configuration, ...]) -> tuple[Configuration, ...]:
    """Give a part that did not answer its name where a reseat brought it to light.

    Or where it is the only one, of parts the shop does not vouch for, that ever answers in its
    place, or is the one new part in a place that was empty, when its own place was emptied, or
    in the place of the part that is in its own now.
    """
    same: dict[ComponentId, ComponentId] = {}
    home = [one for one in found if not one.in_known_good_machine]
    waiting: dict[str, ComponentId] = {}
    known: set[ComponentId] = set()
    for before, after in pairwise(home):
        known |= set(before.parts.values())
        for place in before.unseen:
            if before.parts[place].place:
                waiting[place] = before.parts[place]
        for place, part in list(waiting.items()):
            now = after.parts.get(place)
            if (moved := _moved(place, before, after, known)) is not None:
                name = _name(part, same)
                # Silent there too, it keeps its name.
                silent = after.home(moved) in after.unseen
                same |= {moved: name} if silent else {name: moved}
            elif (
                now is None
                or now == part
                or now in after.known_good
                or place in after.unseen
                or _told_another(place, part, after)
            ):
                continue
            else:
                if place in after.run.reseated or (now not in known and _own(home, place) == {now}):
                    same[part] = now
            del waiting[place]
    same |= _lent(tuple(_renamed(one, same) for one in found))
    return tuple(_renamed(one, same) for one in found) if same else found


def _own(home: list[Configuration], place: str) -> set[ComponentId | None]:
    """The parts that answered in a place, without those the shop vouches for."""
    return {one.parts.get(place) for one in home if place not in one.unseen} - {
        None,
        *(part for one in home for part in one.known_good),
    }


def _told_another(place: str, part: ComponentId, after: Configuration) -> bool:
    """Whether it was told that what is in the place now is another part."""
    answers = (one for one in after.run.answers if isinstance(one, PartIs))
    return any(one.place == place and one.key != str(part) for one in answers)


def _moved(
    place: str, before: Configuration, after: Configuration, known: Set[ComponentId]
) -> ComponentId | None:
    """What took the part of this place along: a part never seen before, where another was not."""
    kind = before.kinds.get(before.parts.get(place, ComponentId()))
    here = after.parts.get(place)
    inside = {one.id for one in after.run.inventory.places if not one.external}
    alike = [
        part
        for where, part in after.parts.items()
        if where in inside - {place}
        and before.parts.get(where) == here
        and after.kinds[part] == kind
        and part not in known | after.known_good
    ]
    return alike[0] if len(alike) == 1 else None


def _lent(found: tuple[Configuration, ...]) -> dict[ComponentId, ComponentId]:
    """The one silent part of the case, where a known-good machine shows a part of its kind.

    Nobody tests there what nobody knows: it is the part that does not answer at home.
    """
    seen: set[ComponentId] = set()
    silent: dict[str, set[ComponentId]] = {}
    same: dict[ComponentId, ComponentId] = {}
    for one in found:
        if not one.in_known_good_machine:
            seen |= set(one.parts.values())
            for place in one.unseen:
                if one.parts[place] not in one.known_good:
                    silent.setdefault(one.kinds[one.parts[place]], set()).add(one.parts[place])
            continue
        for part in one.parts.values():
            waiting = silent.get(one.kinds[part], set())
            own = [name for name in waiting if name.place]
            if part not in seen and part not in one.known_good and len(own) == 1:
                same[own[0]] = part
    return same


def _renamed(one: Configuration, same: Mapping[ComponentId, ComponentId]) -> Configuration:
    return msgspec.structs.replace(
        one,
        parts={place: _name(part, same) for place, part in one.parts.items()},
        ids={own: _name(part, same) for own, part in one.ids.items()},
        kinds={_name(part, same): kind for part, kind in one.kinds.items()},
    )


def _name(part: ComponentId, same: Mapping[ComponentId, ComponentId]) -> ComponentId:
    """The last name of a part that got one after the other."""
    passed = {part}
    while (part := same.get(part, part)) not in passed:
        passed.add(part)
    return part
