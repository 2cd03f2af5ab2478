"""The next step: what to do so that a proven repair is reached soonest and cheapest.

Every possible move is played through: its outcomes under the posterior, and what
the repair would then be expected to cost. The move with the least expected total
is next, one step ahead, as in Breese & Heckerman, *Decision-Theoretic
Troubleshooting: A Framework for Repair and Experiment*, UAI 1996; repairs follow
the P-over-C order of Kadane & Simon 1977. Covers count once a sitting, after the
cost clusters of Ottosen & Jensen, *The cost of troubleshooting cost clusters with
inside information*, UAI 2010.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import log2
from typing import Final

from livecheck.diagnosis import actions, step_words
from livecheck.diagnosis.bench import Bench, expected_repair
from livecheck.diagnosis.blame import Exercise
from livecheck.diagnosis.moves import Move, Situation, possible, situation
from livecheck.diagnosis.posterior import Posterior
from livecheck.diagnosis.trial import Outcome, Sets, outcomes
from livecheck.diagnosis.verdict import Group, Verdict
from livecheck.records import NextStep, Record, Side

_SETS: Final = 120
"""Fault sets kept for looking ahead; the rest is below the noise of the figures."""
UNPROVEN: Final = 90.0
"""Assumed: minutes that ordering a board on evidence that outlived no swap costs in the mean."""
PROOF: Final = 5.0
"""Assumed: minutes to test once more what a treatment has cured."""
_TELLING: Final = 0.02
"""A step that is expected to tell less than this many bits is no step."""


class Scored(Record, frozen=True, kw_only=True):
    """A move and what it is worth."""

    move: Move
    results: tuple[Outcome, ...]
    total: float
    """Expected minutes to a proven repair when this move comes first."""
    bits: float
    """Expected loss of entropy over the repairs."""


class Costs:
    """Expected minutes to a repair, for the groups of one case."""

    def __init__(self, bench: Bench, groups: Sequence[Group]) -> None:
        self.group_of: dict[int, int] = {}
        self.repair: list[float] = []
        self.unproven: list[bool] = []
        for index, group in enumerate(groups):
            self.group_of.update(dict.fromkeys(group.members, index))
            self.repair.append(bench.repair(group.lead))
            self.unproven.append(group.side is Side.CONTROLLER and not group.proven)

    def masses(self, belief: Sets) -> tuple[dict[int, float], float]:
        """Probability of a fault in each group, and of none."""
        mass: dict[int, float] = {}
        none = 0.0
        for members, probability in belief:
            if not members:
                none += probability
            for index in {self.group_of[number] for number in members}:
                mass[index] = mass.get(index, 0.0) + probability / len(members)
        return mass, none

    def expected(
        self, mass: Mapping[int, float], none: float, *, swapped: bool, cured: int | None
    ) -> float:
        """Expected minutes; ``swapped``: what fails here has outlived a swap.

        ``cured``: the component whose repair was the trial itself, and it passed.
        """
        done = self.group_of.get(cured, -1) if cured is not None else -1
        steps = [
            (p, self._cost(index, swapped=swapped) if index != done else PROOF)
            for index, p in mass.items()
            if p > 1e-3
        ]
        return expected_repair(steps, none)

    def _cost(self, index: int, *, swapped: bool) -> float:
        unproven = self.unproven[index] and not swapped
        return self.repair[index] + (UNPROVEN if unproven else 0.0)


def entropy(mass: Mapping[int, float], none: float) -> float:
    """Bits still open over which repair is needed."""
    return -sum(p * log2(p) for p in (*mass.values(), none) if p > 0)


def rank(
    bench: Bench, belief: Posterior, judged: Verdict, found: Sequence[Exercise]
) -> tuple[NextStep, ...]:
    """Steps, best first; empty when nothing is left to do."""
    here = situation(bench, belief, found)
    if judged.side is Side.NO_FAULT:
        return ()
    if judged.group is not None and judged.side is not Side.UNDETERMINED:
        return _after_verdict(here, judged)
    if judged.group is not None and not here.fails_now:
        # A contact that was made anew, and everything passes since.
        return ()
    kept = _kept(belief)
    costs = Costs(bench, judged.groups)
    scored = [score(move, kept, costs) for move in possible(here)]
    telling = [one for one in scored if one.bits > _TELLING]
    telling.sort(key=lambda one: (round(one.total, 3), -one.bits, one.move.action, one.move.target))
    steps = [step_words.step(here, one.move, one.results) for one in telling[:6]]
    if not steps:
        steps = _last_resort(here, judged)
    return tuple(steps)


def score(move: Move, belief: Sets, costs: Costs) -> Scored:
    """What a move is expected to cost and to tell."""
    results = outcomes(move.sites, belief)
    before = entropy(*costs.masses(belief))
    total, left = move.minutes, 0.0
    for result in results:
        mass, none = costs.masses(result.sets)
        swapped = move.swaps and any(result.failed)
        cured = None if any(result.failed) else move.cures
        total += result.probability * costs.expected(mass, none, swapped=swapped, cured=cured)
        left += result.probability * entropy(mass, none)
    return Scored(move=move, results=results, total=total, bits=before - left)


def _kept(belief: Posterior) -> Sets:
    sets = belief.sets[:_SETS]
    whole = sum(mass for _, mass in sets)
    return tuple((members, mass / whole) for members, mass in sets)


def _after_verdict(here: Situation, judged: Verdict) -> tuple[NextStep, ...]:
    """Order and fit; nothing when the unit is out already and the machine passes without it."""
    group = judged.group
    if group is None:
        return ()
    component = here.bench.graph.components[group.lead]
    if judged.side is Side.SOFTWARE:
        return (step_words.repair(here, group, actions.REPAIR_SYSTEM),)
    if judged.side is Side.DEVICE:
        inside = {c.id for k in here.fitted.parts.values() if (c := here.component(k)) is not None}
        if component.id not in inside and not _still_fails(here, group):
            return ()
        # Most heat faults are dirt and dry paste, which cost no part.
        cleaning = [m for m in possible(here) if m.action == actions.CLEAN]
        tried = [step_words.step(here, m, outcomes(m.sites, _kept(here.belief))) for m in cleaning]
        first = tried if component.kind == "cooling" else []
        return (*first, step_words.repair(here, group, actions.REPLACE))
    if component.kind == "firmware" and here.bench.allows(actions.REFLASH):
        return (step_words.last_try(here),)
    steps = [step_words.repair(here, group, actions.REPLACE)]
    last_try = here.fitted.treated.get("firmware", 0) == 0 and here.fails_now
    if component.unit == "mainboard" and last_try and here.bench.allows(actions.REFLASH):
        steps.append(step_words.last_try(here))
    return tuple(steps)


def _still_fails(here: Situation, group: Group) -> bool:
    """True when a check that accused this unit fails although it is out of the machine."""
    accused = {one.reading.check for one in here.found if one.failed and _blames(one, group)}
    now = here.fitted.run.number
    return any(one.failed and one.run == now and one.reading.check in accused for one in here.found)


def _blames(one: Exercise, group: Group) -> bool:
    return any(number in group.members for number, _ in one.members)


def _last_resort(here: Situation, judged: Verdict) -> list[NextStep]:
    """No trial tells anything more: the likeliest repair that is not a board, if one is open."""
    for group in judged.groups:
        if group.side is Side.DEVICE and group.touched and group.probability > 0.3:
            return [step_words.repair(here, group, actions.REPLACE)]
        if group.side is Side.SOFTWARE and group.probability > 0.3:
            return [step_words.repair(here, group, actions.REPAIR_SYSTEM)]
    return []
