"""A step and the bench it is taken on: what every kind of step starts from."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from livecheck.diagnosis import trial
from livecheck.diagnosis.bench import Bench
from livecheck.diagnosis.blame import Exercise
from livecheck.diagnosis.components import (
    FIRMWARE,
    MAINBOARD,
    REPAIRED,
    Component,
    Graph,
    contact_id,
    treated_id,
)
from livecheck.diagnosis.fitting import Fitting
from livecheck.diagnosis.posterior import Posterior
from livecheck.diagnosis.trial import Site, Symptom
from livecheck.records import Part, Record

STAYS_IN: Final = ("processor", "cooling", "panel", "adapter")
"""Kinds without which the machine would not start, or could not be watched."""
CURED_BY_CLEANING: Final = 0.6
"""Assumed: share of cooling faults that are dirt and dry paste, not a dead fan."""
CURED_BY_REFLASH: Final = 0.8
"""Assumed: share of firmware faults that the same image written again cures."""
SOAK_REPEATS: Final = 4
DEEP: Final = {
    "drive": 0.5,
    "memory-module": 0.5,
    "memory-slot": 0.3,
    "memory-controller": 0.3,
    "processor": 0.3,
    "cooling": 0.4,
    "wireless-card": 0.3,
    "sata-port": 0.3,
    "pcie-slot": 0.3,
}
"""Assumed: chance that the full tests show a fault of a kind that the quick ones missed."""
SETS: Final = 120
"""Fault sets kept for looking ahead; the rest is below the noise of the figures."""
MOST_REPEATS: Final = 12
"""Runs of one configuration after which repeating it is no step any more."""
WORTH_MEASURING: Final = 0.3
"""A measurement that would show a component's fault less often is not made for it."""
OPEN: Final = 0.02
"""Components less likely than this are not worth a step of their own."""


class Move(Record, frozen=True, kw_only=True):
    """One step and what it would look at."""

    action: str
    target: str
    minutes: float
    sites: tuple[Site, ...]
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
    found: tuple[Exercise, ...]
    symptoms: tuple[Symptom, ...]
    """What failed last."""
    fails_now: bool
    """True: it failed in the present configuration."""

    @property
    def fitted(self) -> Fitting:
        """The machine as it stands."""
        return self.bench.fitted

    def record(self, key: str) -> Part | None:
        """The part as it was last seen."""
        for fitted in reversed(self.bench.graph.fittings):
            for part in fitted.run.inventory.parts:
                if fitted.keys[part.id] == key:
                    return part
        return None

    def component(self, key: str) -> Component | None:
        """The component of a part as it is now."""
        count = self.fitted.treated.get(key, 0)
        own = f"{key}{REPAIRED}{count})" if count else key
        number = self.bench.graph.index.get(own)
        return None if number is None else self.bench.graph.components[number]

    def looks(self, fitted: Fitting, repeats: int = 1) -> tuple[Site, ...]:
        """The symptoms' sites in a hypothetical fitting."""
        graph, tables = self.bench.graph, self.bench.knowledge
        return trial.sites(self.symptoms, fitted, graph, tables, self.belief.model, repeats)

    def blamed(self) -> set[int]:
        """Components that a symptom could come from in the present configuration."""
        return {number for site in self.looks(self.fitted) for number in site.misses}


def situation(bench: Bench, belief: Posterior, found: Sequence[Exercise]) -> Situation:
    """What there is to work on."""
    kept = belief.sets[:SETS]
    seen = trial.symptoms(found, bench.fitted, bench.graph, kept)
    same = {one.run.number for one in _as_now(bench)}
    now = {one.reading.check for one in found if one.failed and one.run in same}
    return Situation(
        bench=bench,
        belief=belief,
        found=tuple(found),
        symptoms=seen,
        fails_now=any(now & set(symptom.checks) for symptom in seen),
    )


def inside_numbers(graph: Graph, fitted: Fitting) -> frozenset[int]:
    """Components that were in the machine in one run."""
    return frozenset(graph.index[own] for own in ids_in(fitted) if own in graph.index)


def present(here: Situation) -> frozenset[str]:
    """Ids of the components that are in the machine as it stands."""
    return ids_in(here.fitted)


def ids_in(fitted: Fitting) -> frozenset[str]:
    """Ids of everything one run's machine was made of."""
    inventory = fitted.run.inventory
    own = [MAINBOARD, FIRMWARE, *(c.id for c in inventory.controllers)]
    own += [place.id for place in inventory.places]
    own += [part.id for part in inventory.parts if part.soldered]
    ids = {treated_id(fitted, fitted.scoped(one)) for one in own}
    ids |= {treated_id(fitted, key) for key in fitted.parts.values()}
    return frozenset(ids | {contact_id(fitted, place, key) for place, key in fitted.parts.items()})


class Tried(Record, frozen=True, kw_only=True):
    """What was done with a part and its place so far: nothing is proposed without end."""

    reseats: int
    """Reseats of the part in this place."""
    spares: int
    """Known-good parts that were in the place."""
    stints: int
    """Times the part was put into the place."""
    elsewhere: bool
    """True: it was in a known-good machine."""


def tried(here: Situation, key: str, place: str) -> Tried:
    """The history of one part in one place."""
    home = [one for one in here.bench.graph.fittings if not one.run.elsewhere]
    inside = [one.parts.get(place) == key for one in home]
    starts = sum(now and not before for before, now in pairwise([False, *inside]))
    return Tried(
        reseats=sum(one.parts.get(place) == key and place in one.run.reseated for one in home),
        spares=len({k for one in home if (k := one.parts.get(place)) in one.vouched}),
        stints=starts,
        elsewhere=any(
            key in one.parts.values() for one in here.bench.graph.fittings if one.run.elsewhere
        ),
    )


def same_runs(here: Situation) -> int:
    """Runs so far with the very parts and contacts that are in now."""
    return len(_as_now(here.bench))


def _as_now(bench: Bench) -> list[Fitting]:
    """The runs in the present configuration."""
    fitted = bench.fitted
    now = (fitted.parts, fitted.seatings, fitted.treated, fitted.board)
    home = (one for one in bench.graph.fittings if not one.run.elsewhere)
    return [one for one in home if (one.parts, one.seatings, one.treated, one.board) == now]
