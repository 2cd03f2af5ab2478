"""A step and the bench it is taken on: what every kind of step starts from."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from livecheck.diagnosis.complaint import possible
from livecheck.diagnosis.model.posterior import Posterior
from livecheck.diagnosis.observations import COMPLAINT, OUTSIDE, Observation
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.costs import Bench
from livecheck.diagnosis.steps.prediction import PredictedTest, Prediction, Sets, Symptom, symptoms
from livecheck.records import Part, Record
from livecheck.records.tables import MEDIUM
from livecheck.topology.configuration import Configuration
from livecheck.topology.graph import Component, Graph
from livecheck.topology.ids import (
    ANTENNA_LEAD,
    DRIVE_LEAD,
    FIRMWARE,
    HUNG,
    MAINBOARD,
    SETTING,
    ComponentId,
)

STAYS_IN: Final = ("processor", "cooling", "panel", "adapter")
"""Kinds without which the machine would not start, or could not be watched."""
BY_HAND: Final = ("bench.", "guided.", COMPLAINT)
"""First words of checks that a technician makes."""
SETS: Final = 120
"""Fault sets kept for looking ahead; the rest is below the noise of the figures."""


class Move(Record, frozen=True, kw_only=True):
    """One step and what it would look at."""

    action: Action
    target: str
    minutes: float
    tests: tuple[PredictedTest, ...]
    """Empty: it proves nothing by itself."""
    to: str | None = None
    parts: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    money: float | None = None
    swaps: bool = False
    """True: a failure after it has outlived a swap."""
    about: int | None = None
    """The component it is about."""
    cures: int | None = None
    """The component that is repaired when the trial passes."""


class Situation(Record, frozen=True, kw_only=True):
    """Everything the moves are made from."""

    bench: Bench
    belief: Posterior
    found: tuple[Observation, ...]
    symptoms: tuple[Symptom, ...]
    """What failed last."""
    fails_now: bool
    """True: it failed in the present configuration."""
    looked: int
    """Number of the run in which the machine last looked at itself; where nothing but the bench
    ever looked, of the last one."""

    @property
    def now(self) -> Configuration:
        """The machine as it stands."""
        return self.bench.now

    @property
    def graph(self) -> Graph:
        """All components of the case."""
        return self.bench.graph

    def record(self, part: ComponentId) -> Part | None:
        """The part as it was last seen."""
        for one in reversed(self.graph.configurations):
            for record in one.run.inventory.parts:
                if one.ids[record.id] == part:
                    return record
        return None

    def component(self, own: ComponentId) -> Component | None:
        """The component of a part as it is now."""
        number = self.graph.index.get(own)
        return None if number is None else self.graph.components[number]

    def component_at(self, at: str) -> Component | None:
        """The component that a reading of now was taken at."""
        part = self.now.part_at(at)
        return self.component(part if part is not None else self.now.on_board(at))

    def number_at(self, at: str) -> int | None:
        """The number of that component."""
        component = self.component_at(at)
        return None if component is None else self.graph.index[component.id]

    def prediction(self, after: Configuration) -> Prediction:
        """What would show after a change."""
        return Prediction(after, self.graph, self.belief.model)

    def tests(self, after: Configuration, repeats: int = 1) -> tuple[PredictedTest, ...]:
        """The symptoms, looked for again after a change."""
        return self.prediction(after).tests(self.symptoms, self.bench.knowledge.checks, repeats)

    def blamed(self) -> set[int]:
        """Components that a symptom could come from in the present configuration."""
        return {number for test in self.tests(self.now) for number in test.misses}


def situation(bench: Bench, belief: Posterior, found: Sequence[Observation]) -> Situation:
    """What there is to work on."""
    wanted = possible(bench.graph, bench.knowledge)
    seen = symptoms(found, bench.graph, belief.sets[:SETS], wanted)
    same = bench.graph.numbers_as_now
    failing = {one.reading.check for one in found if one.failed and one.run in same}
    return Situation(
        bench=bench,
        belief=belief,
        found=tuple(found),
        symptoms=seen,
        fails_now=any(failing & set(symptom.checks) for symptom in seen),
        looked=_looked(bench, found),
    )


def _looked(bench: Bench, found: Sequence[Observation]) -> int:
    home = {one.run.number for one in bench.graph.home}
    own = (one.run for one in found if not one.reading.check.startswith(BY_HAND))
    return max(home.intersection(own) or home, default=0)


def present(here: Situation) -> frozenset[ComponentId]:
    """Ids of the components that are in the machine as it stands."""
    return ids_in(here.now)


def ids_in(one: Configuration) -> frozenset[ComponentId]:
    """Ids of everything one run's machine was made of."""
    inventory = one.run.inventory
    own = [MAINBOARD, FIRMWARE, HUNG, SETTING, *(c.id for c in inventory.controllers)]
    own += [f"{kind}@{place}" for place in one.parts for kind in (DRIVE_LEAD, ANTENNA_LEAD)]
    own += [place.id for place in inventory.places]
    ids = {one.on_board(thing) for thing in own}
    ids |= {one.ids[part.id] for part in inventory.parts if part.soldered}
    ids |= set(one.parts.values())
    return frozenset(ids | {one.contact(place) for place in one.parts})


def by_hand(here: Situation) -> bool:
    """Whether all that fails was found by eye, hand and meter: no run looks for it by itself."""
    checks = [name for one in here.symptoms for name in one.checks]
    return here.fails_now and all(name.startswith(BY_HAND) and name != OUTSIDE for name in checks)


def complaint_alone(here: Situation) -> bool:
    """Whether nothing fails but what the customer complains of, seen outside his system."""
    return bool(here.symptoms) and all(one.checks == (OUTSIDE,) for one in here.symptoms)


def whole(belief: Posterior) -> Sets:
    """The fault sets that are looked ahead with, summing to 1."""
    sets = belief.sets[:SETS]
    mass = sum(one for _, one in sets)
    return tuple((members, one / mass) for members, one in sets)


def losing(here: Situation) -> frozenset[int]:
    """Drives that did not give back what was written, where the complaint could be of that."""
    return frozenset(
        number
        for one in here.found
        if one.failed and one.run == here.looked and one.symptom_group == MEDIUM
        for number, _ in one.members
        if here.graph.components[number].kind == "drive" and not one.beside
    )


class Tried(Record, frozen=True, kw_only=True):
    """What was done with a part and its place so far: nothing is proposed without end."""

    reseats: int
    """Reseats of this place, whatever part sat in it."""
    spares: int
    """Known-good parts that were in the place."""
    stints: int
    """Times the part was put into the place."""
    in_known_good_machine: bool


def tried(graph: Graph, own: ComponentId, place: str) -> Tried:
    """The history of one part in one place."""
    inside = [one.parts.get(place) == own for one in graph.home]
    starts = sum(now and not before for before, now in pairwise([False, *inside]))
    spares = {p for one in graph.home if (p := one.parts.get(place)) in one.known_good}
    lent = (one for one in graph.configurations if one.in_known_good_machine)
    return Tried(
        reseats=sum(
            one.scope == graph.home[-1].scope and place in one.run.reseated for one in graph.home
        ),
        spares=len(spares),
        stints=starts,
        in_known_good_machine=any(own in one.parts.values() for one in lent),
    )
