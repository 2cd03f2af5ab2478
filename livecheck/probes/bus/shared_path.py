"""Parts behind one controller compared: trouble in all of them points at what they share.

Only trouble on the way counts (link, time-outs, host bus), as the kernel logged it, and
places that sense a part which does not answer. Trouble of a drive's medium is its own.
Several parts that lose their way in one moment share more than a controller, their supply
first: a second moment is wanted before what stays is accused.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.probes import Context, Yield
from livecheck.records import Inventory, KernelEvent, Outcome, Presence, Reading, Record

CHECK: Final = "path.all-behind"

ON_THE_WAY: Final = frozenset({"link", "timeout", "host bus"})

MOMENT_SECONDS: Final = 60.0
"""Lines no further apart than this may be one moment's: the kernel tries a drive so long."""

LEAST: Final = 2
"""Parts that make a comparison."""


class Behind(Record, frozen=True, kw_only=True):
    """What hangs on one controller: ids of places or parts, and which of them have trouble."""

    all: tuple[str, ...]
    troubled: tuple[str, ...]


def probe(context: Context) -> Iterator[Yield]:
    """One reading for each controller with two parts or more, once one of them has trouble."""
    lost = [e for e in context.events if e.serious and e.layer in ON_THE_WAY]
    marked = {e.component for e in lost}
    names = {part.id: part.name for part in context.inventory.parts}
    names |= {place.id: place.name for place in context.inventory.places}
    for controller in context.inventory.controllers:
        found = behind(context.inventory, controller.id, marked)
        if len(found.all) < LEAST or not found.troubled:
            continue
        every = len(found.troubled) == len(found.all)
        listed = ", ".join(names.get(one, one) for one in found.troubled)
        well = ", ".join(names.get(one, one) for one in found.all if one not in found.troubled)
        says = (
            f"Everything behind {controller.name} has trouble on the way: {listed}."
            if every
            else f"Behind {controller.name} there is trouble with {listed}, and none with {well}."
        )
        once = every and _one_moment([e for e in lost if e.component in found.troubled], found)
        yield Reading(
            check=CHECK,
            at=controller.id,
            outcome=Outcome.NOT_JUDGED if once else Outcome.FAILED if every else Outcome.PASSED,
            value=f"{len(found.troubled)} of {len(found.all)}",
            source="kernel log and enumeration",
            says=says,
            why_not="all in one moment: their supply, or what else they share; it has not come "
            "again yet"
            if once
            else None,
        )


def _one_moment(events: Sequence[KernelEvent], found: Behind) -> bool:
    """True when all trouble was logged in one go; what is silent still is no moment's."""
    times = [event.seconds for event in events]
    silent = set(found.troubled) - {event.component for event in events}
    return not silent and max(times) - min(times) <= MOMENT_SECONDS


def behind(inventory: Inventory, controller: str, marked: set[str | None]) -> Behind:
    """Parts behind a controller, and behind the controllers that hang on it; soldered ones too."""
    family = {controller}
    grown = True
    while grown:
        more = {c.id for c in inventory.controllers if c.parent in family} - family
        family |= more
        grown = bool(more)
    fitted = {part.place: part.id for part in inventory.parts}
    every: list[str] = []
    troubled: list[str] = []
    for place in inventory.places:
        if place.controller not in family:
            continue
        part = fitted.get(place.id)
        if part is not None:
            every.append(part)
            if marked & {part, place.id}:
                troubled.append(part)
        elif place.presence is Presence.NOTHING_ANSWERS or place.id in marked:
            every.append(place.id)
            troubled.append(place.id)
    return Behind(all=tuple(every), troubled=tuple(troubled))
