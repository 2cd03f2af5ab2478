"""What was where in one run: a configuration of the machine."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck.records import Place, Record, Run
from livecheck.topology.ids import (
    CONTACT,
    FIRMWARE,
    IN_KNOWN_GOOD,
    MAINBOARD,
    SOFTWARE,
    THE_SOFTWARE,
    ComponentId,
)

EVERYWHERE: Final = frozenset({"machine", MAINBOARD, FIRMWARE, SOFTWARE})
"""What a reading may be taken at in every machine."""

MADE_FOR: Final = {
    "sata-port": "drive",
    "memory-slot": "memory-module",
    "pcie-slot": "expansion-card",
    "battery-bay": "battery",
    "power-jack": "adapter",
    "card-slot": "sd-card",
    "usb-port": "usb-device",
    "cooling-mount": "cooling",
    "processor-socket": "processor",
    "panel-connector": "panel",
}
"""Kind of part a kind of place is made for, where the place does not say."""


class Configuration(Record, frozen=True, kw_only=True):
    """What was fitted in one run."""

    run: Run
    scope: str
    """Of what belongs to the board: empty, ``board 1``, ``IN_KNOWN_GOOD``."""
    parts: dict[str, ComponentId]
    """Place id -> part in it; places with nothing in them are left out."""
    ids: dict[str, ComponentId]
    """Part id of this run's inventory -> the part over all runs."""
    kinds: dict[ComponentId, str]
    """Kind of each of these parts."""
    unsure: frozenset[str] = frozenset()
    """Places where a part is silent that had several parts, and nobody said which it is."""
    unseen: frozenset[str] = frozenset()
    """Places where a part must be and nothing answers."""
    seatings: dict[str, int] = msgspec.field(default_factory=dict)
    """Place id -> how many times its part had been put in anew before, by this case's runs."""
    treated: dict[ComponentId, int] = msgspec.field(default_factory=dict)
    """How many times a component had been cleaned, re-flashed or repaired."""
    known_good: frozenset[ComponentId] = frozenset()
    """Parts the shop vouches for."""

    @property
    def in_known_good_machine(self) -> bool:
        """True: the run was made in a machine the shop vouches for."""
        return self.scope == IN_KNOWN_GOOD

    @property
    def state(self) -> tuple[object, ...]:
        """Parts, contacts and repairs: the same where nothing was done to the machine."""
        return (self.parts, self.seatings, self.treated, self.scope)

    def on_board(self, own: str) -> ComponentId:
        """A place, a controller or one of the board's own things, by its id in this run."""
        return THE_SOFTWARE if own == SOFTWARE else ComponentId(scope=self.scope, key=own)

    def contact(self, place: str) -> ComponentId:
        """The contact of a place: a swap may leave it as it was."""
        return ComponentId(scope=self.scope, kind=CONTACT, place=place)

    def lead(self, place: str, kind: str) -> ComponentId:
        """The lead between a place and what it serves, where there is one."""
        return self.on_board(f"{kind}@{place}")

    def part_at(self, at: str) -> ComponentId | None:
        """The part with this id in the run's inventory, or one that is fitted and silent."""
        known = self.ids.get(at)
        if known is None:
            known = next((part for part in self.parts.values() if str(part) == at), None)
        return known

    def knows(self, at: str) -> bool:
        """Whether anything of this run has this id, or every machine has."""
        inventory = self.run.inventory
        board = {place.id for place in inventory.places} | {c.id for c in inventory.controllers}
        return at in board | EVERYWHERE or self.part_at(at) is not None

    def home(self, part: ComponentId) -> str | None:
        """The place a part is in; None: it is out."""
        return next((place for place, one in self.parts.items() if one == part), None)

    def test_point(self, at: str) -> ComponentId:
        """What a reading was taken at: a part wherever it sits, else what stays."""
        part = self.parts.get(at) or self.part_at(at)
        return part if part is not None else self.on_board(at)


def made_for(place: Place) -> str:
    """Kind of part this place is made for."""
    return place.expects or MADE_FOR.get(place.kind, "expansion-card")
