"""Ways to work through a case: the program's, the trade's fixed order, a random order."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import Final, Protocol

from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Knowledge, Location, Outcome, Run, Side
from tests.simulation.laptops import DEAD, Item, Laptop

MOST_STEPS: Final = 20
MOST_MINUTES: Final = 420.0
_OWN_UNITS: Final = ("power-jack", "panel-connector", "power-button")


class Bench(Protocol):
    """A machine on the bench, as a policy sees and handles it."""

    knowledge: Knowledge
    dice: random.Random
    complaint: str
    laptop: Laptop
    fitted: dict[str, Item]
    runs: list[Run]
    minutes: float
    orders: list[str]
    cannot: tuple[str, ...]
    """What this bench rules out, in the program's words."""

    def look(self) -> Run:
        """One run of the machine as it stands."""

    def perform(
        self, action: str, target: str, to: str | None, parts: Sequence[str], checks: Sequence[str]
    ) -> None:
        """One step of the program that is no repair."""

    def swap(self, place: str) -> None:
        """A part the shop vouches for into a place, and a look."""

    def clean(self) -> object:
        """The cooling cleaned, and a look."""

    def order(self, unit: str, kind: str) -> None:
        """A unit bought and fitted, and a look."""

    def reinstall(self) -> None:
        """The installed system put right."""

    def find(self, key: str) -> Item | None:
        """The part behind a component id."""

    def place_of(self, item: Item) -> str | None:
        """Where a part sits; None: on the table."""

    def unit_of(self, component: str, unit: str) -> str:
        """The program's unit in the referee's words."""


class Ended:
    """How a case ended."""

    def __init__(self) -> None:
        self.first: str | None = None
        """First unit blamed; ``contact``, ``software`` too. None: none was."""
        self.named: str | None = None
        """Unit blamed at the end of the case."""
        self.top: tuple[str, ...] = ()
        """The two likeliest units at the end."""
        self.side = ""
        """Side of the first verdict; empty: none was given."""
        self.probability = 0.0
        self.said = ""
        """Side of the last verdict."""
        self.lead: str | None = None
        """The likeliest unit when it was decided on: at the first verdict or before the first
        order, else at the end. None: that nothing is at fault."""
        self.lead_probability = 0.0
        """What the program gave it; 0: it judged nothing."""
        self.found = False
        """True: the machine was not handed back as sound."""
        self.steps = 0


Policy = Callable[[Bench], Ended]


def ours(world: Bench) -> Ended:
    """Do what the program proposes until it proposes nothing more or the repair is proven."""
    ended = Ended()
    world.minutes += 5.0
    world.look()
    location: Location | None = None
    before: tuple[object, ...] = ()
    for _ in range(MOST_STEPS):
        location = locate("sim", world.runs, world.knowledge, Resources(cannot=world.cannot))
        _note(ended, world, location)
        step = location.next_step
        asked = (step, len(world.runs))
        if step is None or world.minutes > MOST_MINUTES or asked == before:
            # Proposed again though the bench has said that it cannot.
            break
        before = asked
        ended.steps += 1
        if step.action == Action.REPAIR_SYSTEM:
            _decide(ended, world, location)
            world.reinstall()
            break
        if step.action == Action.REPLACE:
            _decide(ended, world, location)
            kind = next(c.unit for c in location.candidates if c.component == step.target)
            world.order(world.unit_of(step.target, kind), kind)
        else:
            world.perform(step.action, step.target, step.to, step.parts, step.checks)
    if location is not None:
        ended.said = location.side.value
        _decide(ended, world, location)
        _order_the_spared(world, location)
        _conclude(ended, world, location)
    if not ended.side:
        ended.first = ended.named
    return ended


def _decide(ended: Ended, world: Bench, location: Location) -> None:
    """Keep what the program holds for likeliest, once."""
    if ended.lead_probability:
        return
    if location.side is Side.SOFTWARE or location.component is not None:
        ended.lead, ended.lead_probability = _blamed(world, location), location.probability
        return
    none = location.sides[Side.NO_FAULT.value]
    mass = _masses(world, location)
    ended.lead = max(mass, key=lambda unit: mass[unit]) if mass else None
    ended.lead_probability = mass[ended.lead] if ended.lead is not None else none
    if none >= ended.lead_probability:
        ended.lead, ended.lead_probability = None, none


def _conclude(ended: Ended, world: Bench, location: Location) -> None:
    """What is blamed at the end: by the verdict, else the last unit that was bought."""
    ended.top = _units(world, location)[:2]
    if location.side not in (Side.UNDETERMINED, Side.NO_FAULT):
        ended.named = _blamed(world, location)
    elif world.orders:
        ended.named = world.orders[-1]
    elif ended.top[:1] == ("contact",):
        ended.named = "contact"
    if ended.named is not None and ended.named not in ended.top:
        ended.top = (ended.named, *ended.top[:1])
    ended.found = ended.named is not None or _signs(location)


def _signs(location: Location) -> bool:
    """True when something failed that is more than a false alarm would explain."""
    return any(one.outcome is Outcome.FAILED and one.weight > 1.0 for one in location.evidence)


def _order_the_spared(world: Bench, location: Location) -> None:
    """The part at fault is out and a spare works in its stead: order one."""
    named = location.component
    if location.side is Side.DEVICE and named is not None and location.unit is not None:
        unit = world.unit_of(named, location.unit)
        if unit not in world.orders:
            world.order(unit, location.unit)


def _note(ended: Ended, world: Bench, location: Location) -> None:
    """Keep the first verdict."""
    if ended.side or location.side is Side.UNDETERMINED:
        return
    _decide(ended, world, location)
    ended.side = location.side.value
    ended.probability = location.probability
    ended.first = _blamed(world, location)


def _blamed(world: Bench, location: Location) -> str | None:
    if location.side is Side.SOFTWARE:
        return "software"
    if location.component is None:
        return None
    lead = next(c for c in location.candidates if c.component == location.component)
    return world.unit_of(lead.component, lead.unit)


def _masses(world: Bench, location: Location) -> dict[str, float]:
    """What the program gives each unit; two faults of one unit count once at the most."""
    mass: dict[str, float] = {}
    for one in location.candidates:
        unit = world.unit_of(one.component, one.unit)
        mass[unit] = min(1.0, mass.get(unit, 0.0) + one.probability)
    return mass


def _units(world: Bench, location: Location) -> tuple[str, ...]:
    mass = _masses(world, location)
    return tuple(sorted(mass, key=lambda unit: -mass[unit]))


def _fails(run: Run) -> bool:
    return any(reading.outcome is Outcome.FAILED for reading in run.readings)


def fixed_order(world: Bench) -> Ended:
    """The trade's order: adapter, swap the suspect part, then blame the board.

    Common practice, no source. Cooling is cleaned before it is replaced, and a jack
    or screen lead that a measurement accuses is replaced before the board.
    """
    ended = Ended()
    world.minutes += 5.0
    first = world.look()
    if not _fails(first):
        return _nothing_found(world, ended)
    suspects = _suspects(world, first)
    if world.complaint in (*DEAD[:1], "not-charging", "switches-off"):
        jack = next(p for p, spot in world.laptop.spots.items() if spot.takes == "adapter")
        suspects = [jack, *(place for place in suspects if place != jack)]
    return _swap_through(world, ended, suspects)


def random_order(world: Bench) -> Ended:
    """Swap what can be swapped in a random order; the board when nothing helped."""
    ended = Ended()
    world.minutes += 5.0
    first = world.look()
    if not _fails(first):
        return _nothing_found(world, ended)
    places = [p for p, spot in world.laptop.spots.items() if spot.takes and p in world.fitted]
    world.dice.shuffle(places)
    return _swap_through(world, ended, places)


def _nothing_found(world: Bench, ended: Ended) -> Ended:
    """No check failed: look once more, then blame the installed system or hand back."""
    world.minutes += 5.0
    if _fails(world.look()):
        return _swap_through(world, ended, _suspects(world, world.runs[-1]))
    if world.complaint in ("slow", "unstable", "part-missing"):
        ended.first = ended.named = ended.side = ended.said = "software"
        ended.found = True
        world.reinstall()
    return ended


def _swap_through(world: Bench, ended: Ended, places: list[str]) -> Ended:
    ended.found = True
    for place in places[:8]:
        item = world.fitted.get(place)
        if item is None:
            continue
        ended.steps += 1
        if item.kind == "cooling":
            world.clean()
            if not _fails(world.runs[-1]):
                ended.first = ended.named = item.key
                ended.side = "device"
                return ended
        world.swap(place)
        if not _fails(world.runs[-1]):
            return _order(world, ended, item.key, item.kind)
    accused = {r.check for run in world.runs for r in run.readings if r.outcome is Outcome.FAILED}
    for check, unit in (("bench.jack", "power-jack"), ("bench.jack-loose", "power-jack")):
        if check in accused:
            _order(world, ended, unit, unit)
            if not _fails(world.runs[-1]):
                return ended
    return _order(world, ended, "mainboard", "mainboard")


def _order(world: Bench, ended: Ended, unit: str, kind: str) -> Ended:
    if ended.first is None:
        ended.first = unit
        ended.side = "controller" if unit in ("mainboard", *_OWN_UNITS) else "device"
    ended.named = unit
    ended.top = (unit,)
    world.order(unit, kind)
    return ended


def _suspects(world: Bench, run: Run) -> list[str]:
    """Places with failing readings, most failures first."""
    count: dict[str, int] = {}
    for reading in run.readings:
        if reading.outcome is not Outcome.FAILED:
            continue
        item = world.find(reading.at)
        place = world.place_of(item) if item is not None else reading.at
        if place in world.fitted:
            count[place] = count.get(place, 0) + 1
    if not count and not world.laptop.dead:
        return [p for p, item in world.fitted.items() if item.kind in ("memory-module", "cooling")]
    if not count:
        likely = ("adapter", "memory-module", "panel")
        return [p for kind in likely for p, item in world.fitted.items() if item.kind == kind]
    return sorted(count, key=lambda place: -count[place])


POLICIES: Final[dict[str, Policy]] = {
    "ours": ours,
    "fixed_order": fixed_order,
    "random": random_order,
}
