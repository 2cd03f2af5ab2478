"""What the technician tells, in the record format: the only place here that knows its words."""

from __future__ import annotations

from typing import Final

from livecheck.records import (
    AllPowerAway,
    Answer,
    BoardReplaced,
    CleanedPart,
    ComplaintShows,
    FirmwareFlashed,
    FirstPartBack,
    LookedInside,
    Outcome,
    PartIs,
    Reading,
    RepairedPart,
    SettingPutRight,
    WhereShown,
)
from tests.simulation.laptops import Item

LOOKED_INSIDE: Final = LookedInside()
POWER_AWAY: Final = AllPowerAway()
NEW_BOARD: Final = BoardReplaced()
FLASHED: Final = FirmwareFlashed()


def part_is(place: str, item: Item, key: str) -> Answer:
    """Another part is in a place; ``key``: its id in the runs."""
    return PartIs(place=place, name=key.partition(":")[2] or key, key=key, known_good=item.spare)


def own_is_back(place: str) -> Answer:
    """The machine's own part is in its place again."""
    return FirstPartBack(place=place)


def cleaned(place: str) -> Answer:
    """The cooling was cleaned."""
    return CleanedPart(part=f"cooling@{place}")


def put_right(component: str) -> Answer:
    """The switches and settings that bear on a component were put right."""
    return SettingPutRight(component=component)


def repaired(component: str) -> Answer:
    """What stays in the machine was repaired: a jack, a lead."""
    return RepairedPart(component=component)


def where_shown(inside: bool, outside: bool) -> tuple[Answer, tuple[Reading, ...]]:
    """Where the complaint was seen: the answer, and the readings a run makes of it."""
    where = WhereShown.OUTSIDE if outside else WhereShown.INSIDE if inside else WhereShown.NOWHERE
    readings = [_seen("complaint.outside", outside)]
    if not outside:
        readings.insert(0, _seen("complaint.inside", inside))
    return ComplaintShows(where=where), tuple(readings)


def _seen(check: str, shows: bool) -> Reading:
    outcome = Outcome.FAILED if shows else Outcome.PASSED
    return Reading(check=check, at="machine", outcome=outcome, source="the technician")
