"""What a step is expected to cost and to tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from livecheck.diagnosis.steps import measure
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.costs import expected_repair
from livecheck.diagnosis.steps.prediction import PredictedResult, Sets, results
from livecheck.diagnosis.steps.situation import Move, Situation, present
from livecheck.diagnosis.verdict import RepairGroup
from livecheck.records import Record, Side

_RARE: Final = 0.05
"""Assumed: an outcome less likely than this is not waited for."""


class Scored(Record, frozen=True, kw_only=True):
    """A move and what it is worth."""

    move: Move
    results: tuple[PredictedResult, ...]
    total: float
    """Expected minutes to a proven repair when this move comes first."""
    bits: float
    """Expected loss of entropy over the repairs."""
    turns: bool
    """Whether an outcome makes another repair the likeliest, or a doubtful one all but certain."""
    one_answer: bool
    """Whether it is a measurement after which the same is the likeliest whatever it shows, and that
    is not what is measured: nobody opens a machine to measure its jack for the fan's sake (common
    practice, no source)."""


class Costs:
    """Expected minutes to a repair, for the groups of one case."""

    def __init__(self, here: Situation, groups: Sequence[RepairGroup]) -> None:
        inside = present(here)
        graph = here.graph
        self.table = here.bench.knowledge.bench
        self.sure = here.bench.knowledge.model.device_verdict.value
        self.group_of: dict[int, int] = {}
        self.repair: list[float] = []
        self.unproven: list[bool] = []
        for index, group in enumerate(groups):
            self.group_of.update(dict.fromkeys(group.members, index))
            component = graph.components[group.lead]
            there = component.id in inside or component.side is Side.SOFTWARE
            # What is out of the machine already costs the order only.
            cost = here.bench.repair(group.lead) if there else here.bench.order(group.lead)
            self.repair.append(cost)
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
        again = self.table.actions.test_again.minutes
        steps = [
            (p, self._cost(index, swapped=swapped) if index != done else again)
            for index, p in mass.items()
            if p > 1e-3
        ]
        return expected_repair(steps, none, self.table.losses)

    def _cost(self, index: int, *, swapped: bool) -> float:
        unproven = self.unproven[index] and not swapped
        return self.repair[index] + (self.table.losses.unproven_board.minutes if unproven else 0.0)


def _bits(mass: Mapping[int, float], none: float) -> float:
    """Bits still open over which repair is needed."""
    return measure.entropy((*mass.values(), none))


def score(move: Move, belief: Sets, costs: Costs) -> Scored:
    """What a move is expected to cost and to tell."""
    found = results(move.tests, belief)
    mass, none = costs.masses(belief)
    before, lead = _bits(mass, none), _lead(mass)
    doubtful = mass.get(lead, 0.0) < costs.sure
    total, left, turns = move.minutes, 0.0, False
    answers: set[int] = set()
    for result in found:
        mass, none = costs.masses(result.sets)
        likeliest = _lead(mass)
        changed = likeliest != lead or (doubtful and mass[lead] >= costs.sure)
        turns |= changed and result.probability >= _RARE
        answers.add(likeliest if mass.get(likeliest, 0.0) > none else -1)
        swapped = move.swaps and any(result.failed)
        cured = None if any(result.failed) else move.cures
        total += result.probability * costs.expected(mass, none, swapped=swapped, cured=cured)
        left += result.probability * _bits(mass, none)
    own = costs.group_of.get(move.about) if move.about is not None else None
    same = len(found) > 1 == len(answers) and own not in answers
    return Scored(
        move=move, results=found, total=total, bits=before - left, turns=turns,
        one_answer=same and move.action == Action.MEASURE,
    )  # fmt: skip


def _lead(mass: Mapping[int, float]) -> int:
    return max(mass, key=lambda index: (mass[index], -index), default=-1)


def soonest_first(one: Scored) -> tuple[bool, bool, float, float, str, str]:
    """What says the same whatever comes of it waits; else least expected total first."""
    move = one.move
    return (one.one_answer, not one.turns, round(one.total, 3), -one.bits, move.action, move.target)


def hands_before_waiting(telling: list[Scored], trial: float) -> None:
    """Beside the best step a soak stands behind one at the part that is worth as much.

    It is told for whoever cannot do the first: less than a trial between them, or than the soak
    takes longer, is no difference.
    """
    for at in range(1, len(telling) - 1):
        one, other = telling[at : at + 2]
        waits = one.move.action == Action.SOAK and other.move.minutes < one.move.minutes
        alike = max(trial, one.move.minutes - other.move.minutes)
        if waits and one.turns == other.turns and other.total - one.total < alike:
            telling[at : at + 2] = [other, one]
