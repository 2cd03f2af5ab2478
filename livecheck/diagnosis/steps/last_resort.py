"""What is ordered or put right when no trial is worth its minutes. Repairs follow the P-over-C
order of Kadane & Simon 1977."""

from __future__ import annotations

from livecheck.diagnosis.steps import before, before_order, left_out, wording
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.scoring import Costs
from livecheck.diagnosis.steps.situation import Situation, present
from livecheck.diagnosis.verdict import RepairGroup, Verdict
from livecheck.records import NextStep, Side
from livecheck.topology.ids import MAINBOARD, ComponentId

_Option = tuple[float, RepairGroup, Action]
"""Probability over cost, what is repaired, and how."""


def _cheaper_of_two(here: Situation, judged: Verdict, costs: Costs) -> list[_Option]:
    """A board or a cheaper unit, and nothing tells them apart: the cheaper one, by P over C.

    With it replaced and the failure still there, what is left suffices for the board.
    """
    inside = present(here)
    found: list[_Option] = []
    for index, group in enumerate(judged.groups):
        ratio = group.probability / costs.repair[index]
        if index == 0:
            board = group.unit == MAINBOARD and group.proven
            if not board or not here.symptoms:
                return []
            needed = here.bench.knowledge.model.last_board_order.value
            least, rest = ratio, needed - group.probability
        elif group.proven and group.side is not Side.UNDETERMINED and group.unit != MAINBOARD:
            fitted = _orderable(here, group, inside)
            if fitted and group.probability >= rest and ratio > least:
                found.append((ratio, group, Action.REPLACE))
    return found


def _orderable(here: Situation, group: RepairGroup, inside: frozenset[ComponentId]) -> bool:
    """Whether it is in the machine; what was exchanged, a jack or a lead, is not bought twice."""
    own = here.bench.graph.components[group.lead].id
    twice = group.side is Side.CONTROLLER and here.now.treated.get(own, 0) > 0
    return own in inside and not twice


def _alike(here: Situation, judged: Verdict, costs: Costs) -> list[_Option]:
    """Two units that nothing tells apart, as a panel and its lead: what is left is the other."""
    groups, inside = left_out.two_alike(here, judged), present(here)
    return [
        (group.probability / costs.repair[judged.groups.index(group)], group, Action.REPLACE)
        for group in groups if _orderable(here, group, inside)
    ]  # fmt: skip


def order(here: Situation, judged: Verdict, costs: Costs, none: float) -> tuple[NextStep, ...]:
    """No trial is worth its minutes: the best repair by P over C, unless handing back is better.

    A board only when its evidence outlived a swap, and nothing else on less than an even
    chance; the installed system also when nothing fails and it is the likeliest.
    """
    inside = present(here)
    options: list[_Option] = []
    model = here.bench.knowledge.model
    system = model.last_order if here.symptoms else model.last_system_repair
    for index, group in enumerate(judged.groups):
        ratio = group.probability / costs.repair[index]
        component = here.bench.graph.components[group.lead]
        needs = model.last_board_order if group.unit == MAINBOARD else model.last_order
        if group.side is Side.SOFTWARE:
            likely = group.probability > system.value * (1.0 - none)
            if likely and group is judged.groups[0] and not here.now.treated.get(component.id):
                options.append((ratio, group, Action.REPAIR_SYSTEM))
        elif group.side is Side.UNDETERMINED or not (group.proven and group.relevant):
            continue
        elif component.id in here.now.known_good:
            continue  # nobody orders the shop's own part
        elif group.probability > needs.value and _orderable(here, group, inside):
            options.append((ratio, group, Action.REPLACE))
    options = options or _alike(here, judged, costs) or _cheaper_of_two(here, judged, costs)
    if not options:
        return ()
    best = max(options, key=lambda option: option[0])
    if best[0] < none / here.bench.knowledge.bench.losses.comeback.minutes:
        return ()
    first = before_order.an_order(here, best[1])
    if best[2] == Action.REPAIR_SYSTEM:
        first += before.a_new_system(here, best[1].probability)
    return (*first, wording.repair(here, best[1], best[2]))
