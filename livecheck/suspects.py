"""Who could be at fault, by the unit one would act on: one number for each. Pure.

Ports, controllers and soldered parts of a board are mended by the same order, so they share
its number; the unit that the verdict names, or that leads, has the verdict's own. What could be the
complaint stands before what was found besides.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.records import Candidate, Location, Side
from livecheck.topology.ids import FIRMWARE, MAINBOARD
from livecheck.wording import text, title

FAINT: Final = 0.01
"""Units less likely than this are not listed."""
SHARE_OF_LEAD: Final = 0.2
"""A member of a unit is told of from this share of its likeliest member's probability on."""
MOST_NAMES: Final = 3
MOST: Final = 0.999
"""Shares of members overlap where two faults may be there at once."""


class Suspect(msgspec.Struct, frozen=True, kw_only=True):
    """One unit."""

    members: tuple[Candidate, ...]
    """Its components that may be at fault, the likeliest first; each with the unit's number."""
    bears: bool
    """True: such a fault could be what the customer complains of."""

    @property
    def lead(self) -> Candidate:
        """The component most likely at fault."""
        return self.members[0]

    @property
    def side(self) -> str:
        """What it is one of, in a word."""
        return text(f"suspects.side.{self.lead.side.value}")

    @property
    def names(self) -> str:
        """Its components by name: as many as one can look at."""
        told = list(dict.fromkeys(one.name or one.component for one in self.members))
        more = len(told) - MOST_NAMES
        tail = [text("names.more", n=more)] if more > 0 else []
        return text("names.or").join([*told[:MOST_NAMES], *tail])

    @property
    def probability(self) -> float:
        """Of a fault in any of them."""
        return self.lead.probability


def side_words(found: Location) -> str:
    """The verdict's side; of what needs no order that it needs none."""
    return text("side.put-right") if found.put_right else title(found.side)


def suspects(found: Location) -> tuple[Suspect, ...]:
    """Every unit that may be at fault: those that bear on the complaint first, by likelihood."""
    groups: dict[str, list[Candidate]] = {}
    for one in sorted(found.candidates, key=lambda c: -c.probability):
        shared = one.unit in (MAINBOARD, FIRMWARE) and one.side is Side.CONTROLLER
        groups.setdefault(one.unit if shared else one.component, []).append(one)
    made = (_suspect(members, found) for members in groups.values())
    kept = [one for one in made if one.probability >= FAINT]
    return tuple(sorted(kept, key=lambda one: (not one.bears, -one.probability)))


def _suspect(members: Sequence[Candidate], found: Location) -> Suspect:
    named = [one for one in members if one.component == found.component]
    share = members[0].of_unit
    if share is None:
        share = min(sum(one.probability for one in members), MOST)
    least = members[0].probability * SHARE_OF_LEAD
    told = [*named, *(c for c in members if c not in named and c.probability >= least)]
    if named:
        share = found.probability
    return Suspect(
        members=tuple(msgspec.structs.replace(one, probability=share) for one in told),
        bears=bool(named) or any(one.bears for one in members),
    )


def one_number(found: Location) -> Location:
    """The location as it is shown: each candidate with the number of its unit."""
    listed = suspects(found)
    return msgspec.structs.replace(
        found, candidates=tuple(one for suspect in listed for one in suspect.members)
    )
