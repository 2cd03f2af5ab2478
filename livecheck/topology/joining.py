"""A part that did not answer, and is seen later: one part, by one id in all runs."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import msgspec

from livecheck.topology.configuration import Configuration
from livecheck.topology.ids import ComponentId


def joined(found: tuple[Configuration, ...]) -> tuple[Configuration, ...]:
    """Give a part that did not answer its name where a reseat brought it to light.

    Or where it answers when it is back in its place after a part the shop vouches for.
    """
    other: dict[ComponentId, ComponentId] = {}
    home = [one for one in found if not one.in_known_good_machine]
    waiting: dict[str, ComponentId] = {}
    for before, after in pairwise(home):
        for place in before.unseen:
            if before.parts[place].place:
                waiting[place] = before.parts[place]
        for place, part in list(waiting.items()):
            now = after.parts.get(place)
            if now is None or now == part or now in after.known_good or place in after.unseen:
                continue
            spare = before.parts.get(place) in before.known_good
            known = any(now in one.parts.values() for one in home[: home.index(after)])
            if place in after.run.reseated or (spare and not known):
                other[part] = now
            del waiting[place]
    other |= _lent(found)
    return tuple(_renamed(one, other) for one in found) if other else found


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


def _renamed(one: Configuration, other: Mapping[ComponentId, ComponentId]) -> Configuration:
    return msgspec.structs.replace(
        one,
        parts={place: other.get(part, part) for place, part in one.parts.items()},
        ids={own: other.get(part, part) for own, part in one.ids.items()},
        kinds={other.get(part, part): kind for part, kind in one.kinds.items()},
    )
