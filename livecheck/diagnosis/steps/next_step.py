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

from collections.abc import Iterator, Sequence
from math import inf
from typing import Final

from livecheck.diagnosis.complaint import BY_EYE, CLEAN_RUNS, PATIENCE, tested
from livecheck.diagnosis.explain import locked
from livecheck.diagnosis.model.posterior import Posterior
from livecheck.diagnosis.model.windows import DRIVE
from livecheck.diagnosis.observations import Observation
from livecheck.diagnosis.steps import (
    before,
    before_order,
    last_resort,
    left_out,
    offered,
    outside,
    settings,
    wording,
)
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.costs import HOUR, Bench
from livecheck.diagnosis.steps.moves import as_step, possible
from livecheck.diagnosis.steps.prediction import Sets, results
from livecheck.diagnosis.steps.scoring import (
    Costs,
    Scored,
    hands_before_waiting,
    score,
    soonest_first,
)
from livecheck.diagnosis.steps.situation import Situation, present, situation, whole
from livecheck.diagnosis.verdict import RepairGroup, Verdict
from livecheck.records import Complaint, NextStep, Side
from livecheck.topology.ids import FIRMWARE, MAINBOARD, THE_SOFTWARE

_LITTLE: Final = 0.001
_SURELY_CURED: Final = 0.9
"""Assumed: what was cured and is less certain than this is soaked before it is handed back."""
_TELLING: Final = 0.02
"""A step that is expected to tell less than this many bits is no step."""


def rank(
    bench: Bench, belief: Posterior, judged: Verdict, found: Sequence[Observation]
) -> tuple[NextStep, ...]:
    """The step that is best and those told beside it; empty when nothing is left to do."""
    here = situation(bench, belief, found)
    if judged.side is Side.NO_FAULT:
        return _longer(here)
    first = (*before.anything(here), *outside.steps(here), *settings.steps(here))
    said = {(step.action, step.target, step.to, step.checks) for step in first}
    hands = _hands_on(here, judged)
    steps = (*first, *(s for s in hands if (s.action, s.target, s.to, s.checks) not in said))
    steps = steps or tuple(before.a_heard_fan(here))
    return offered.offered(here, judged, steps)


def _longer(here: Situation) -> tuple[NextStep, ...]:
    """No fault in what was tested: what comes and goes is waited for a while yet.

    With the customer's own parts in: what was tested without them is not the machine. What ran
    hot is cleaned first, and what a meter is for is measured.
    """
    moves = possible(here)
    back = [as_step(here, move) for move in moves if move.action == Action.PUT_BACK]
    back += before.what_runs_hot(here) or before.a_heard_fan(here)
    back += before.by_meter(here)
    known = here.belief.none >= here.bench.knowledge.model.device_verdict.value
    if known or here.graph.complaint is Complaint.INTAKE:
        return tuple(back)
    soaks = [as_step(here, move) for move in moves if move.action == Action.SOAK]
    if soaks and tested(here.graph) < PATIENCE:
        return (*back, *soaks)
    # Dust is what most often switches a machine off (common practice, no source).
    dusty = here.graph.complaint is Complaint.SWITCHES_OFF
    return (*back, *(before.may_be_dirty(here) if dusty else ()))


def _hands_on(here: Situation, judged: Verdict) -> tuple[NextStep, ...]:
    """Trials and repairs, best first."""
    bench, belief = here.bench, here.belief
    kept = whole(belief)
    if judged.group is not None:
        steps = _after_verdict(here, judged.group)
        if steps or not _second_fault(here, judged.group):
            return (
                *_confirming(here, judged.group, kept),
                *steps,
                *_stays_away(here, judged.group),
            )
    costs = Costs(here, judged.groups)
    mass, none = costs.masses(kept)
    now = costs.expected(mass, none, swapped=False, cured=None)
    moves = (move for move in possible(here) if not left_out.waits(here, move))
    moves = (move for move in moves if not left_out.in_vain(here, judged, move))
    scored = [score(move, kept, costs) for move in moves]
    # With a complaint, nothing is given up before the full tests and a soak have run.
    open_yet = here.symptoms or bench.graph.complaint is not Complaint.INTAKE
    worth = inf if open_yet and not _decided(here, judged) else now
    unproven = any(g.side is Side.CONTROLLER and not g.proven for g in judged.groups[:1])
    telling = [
        one
        for one in scored
        if (one.bits > _TELLING or (unproven and one.move.swaps)) and one.total < worth
    ]
    telling.sort(key=soonest_first)
    hands_before_waiting(telling, bench.trial())
    steps = tuple(wording.step(here, one.move, one.results) for one in telling[:6])
    steps = before.in_front(here, judged, steps)
    if judged.misfit:
        first = [before_order.inspect(here)]
        return (*first, *(step for step in steps if step.action != Action.REPLACE))
    if judged.group is None:
        # Beside a repair that is proven nothing more is bought on what is left.
        steps = steps or last_resort.order(here, judged, costs, none)
    return steps or _better_than_none(here, scored, unproven=unproven)


def _better_than_none(
    here: Situation, scored: Sequence[Scored], *, unproven: bool
) -> tuple[NextStep, ...]:
    """While something fails, a step that tells little.

    Where nothing can be swapped, that a board fails time and again is its proof.
    """
    if unproven and tested(here.graph) < PATIENCE:
        return tuple(as_step(here, move) for move in possible(here) if move.action == Action.SOAK)
    if not here.symptoms:
        return ()
    little = sorted(scored, key=lambda one: -one.bits / one.move.minutes)[:3]
    return tuple(wording.step(here, one.move, one.results) for one in little if one.bits > _LITTLE)


def _decided(here: Situation, judged: Verdict) -> bool:
    """Whether the board is so likely that a trial has to be worth its minutes."""
    lead = judged.groups[0] if judged.groups and not judged.misfit else None
    needed = here.bench.knowledge.model.last_board_order.value
    board = lead is not None and lead.unit == MAINBOARD and lead.probability >= needed
    return board and lead is not None and lead.proven and lead.relevant and lead.touched


def _confirming(here: Situation, group: RepairGroup, kept: Sets) -> tuple[NextStep, ...]:
    """The trial that is worth its minutes before a verdict is acted on, if there is one.

    The value of information (Howard, *Information Value Theory*, IEEE Trans. Systems
    Science and Cybernetics 2, 1966): acting now loses ``wrong`` with the chance that
    the verdict is wrong; after the trial only where the verdict still stands.
    """
    own = frozenset(group.members)
    model = here.bench.knowledge.model
    wrong = _loss(here, group)
    stands = (model.cured_verdict if group.gone > 0.5 else model.verdict_stands).value
    best, value = None, 0.0
    enough = group.probability >= model.inside_verdict.value or tested(here.graph) >= PATIENCE
    sure = group.side is Side.SOFTWARE and enough
    if sure or (1.0 - group.probability) * wrong < here.bench.trial():
        return ()
    for move in possible(here):
        if move.action in (Action.CLEAN, Action.REFLASH):
            continue
        predicted = results(move.tests, kept)
        after = ((one.probability, _share(one.sets, own)) for one in predicted)
        lost = sum(chance * (1.0 - share) for chance, share in after if share >= stands)
        gained = (1.0 - _share(kept, own) - lost) * wrong - move.minutes
        if gained > value:
            best, value = wording.step(here, move, predicted), gained
    return () if best is None else (best,)


def _stays_away(here: Situation, group: RepairGroup) -> Iterator[NextStep]:
    """A soak after what was cured without a part: what comes and goes may only rest."""
    doubtful = group.gone > 0.5 and group.probability < _SURELY_CURED
    # What the eye sees at every start is seen at the hand-over's, too.
    doubtful = doubtful and here.graph.complaint not in BY_EYE
    if doubtful and len(here.graph.as_now) < CLEAN_RUNS:
        yield from (as_step(here, move) for move in possible(here) if move.action == Action.SOAK)


def _share(belief: Sets, own: frozenset[int]) -> float:
    return sum(mass for members, mass in belief if not own.isdisjoint(members))


def _loss(here: Situation, group: RepairGroup) -> float:
    """Minutes that acting on a wrong verdict costs."""
    bench, losses = here.bench, here.bench.knowledge.bench.losses
    if group.side is Side.UNDETERMINED or group.gone > 0.5:
        return losses.comeback.minutes + losses.wrong_order.minutes
    board = bench.repair(group.lead) if group.unit == MAINBOARD else 0.0
    price = (bench.money(group.unit) or 0.0) * HOUR
    return max(board, price) + losses.wrong_order.minutes


def _second_fault(here: Situation, group: RepairGroup) -> bool:
    """True when something still fails that the verdict's unit, now out or cured, cannot explain."""
    return here.fails_now and (group.gone > 0.5 or not set(group.members) & here.blamed())


def _after_verdict(here: Situation, group: RepairGroup) -> tuple[NextStep, ...]:
    """Order and fit; nothing when the unit at fault is not in the machine any more."""
    component = here.bench.graph.components[group.lead]
    if component.side is Side.SOFTWARE:
        if locked(here.graph) is not None or here.now.treated.get(THE_SOFTWARE):
            return ()  # Nobody installs anew over what nobody could read, nor a second time.
        tests = before.a_new_system(here, group.probability)
        return (*tests, wording.repair(here, group, Action.REPAIR_SYSTEM))
    if component.id not in present(here) or group.gone > 0.5:
        return ()
    if component.id in here.now.known_good:
        # The shop's own part is bad: nothing to order, the customer's goes back in.
        place = here.now.home(component.id)
        swaps = (m for m in possible(here) if m.action in (Action.PUT_BACK, Action.SWAP))
        return tuple(as_step(here, move) for move in swaps if move.to == place)
    if component.side is Side.UNDETERMINED:
        reseats = [m for m in possible(here) if m.cures == group.lead]
        return tuple(as_step(here, move) for move in reseats)
    first: list[NextStep] = []
    if component.kind == "cooling":
        # Most heat faults are dirt and dry paste, which cost no part.
        first = [as_step(here, move) for move in possible(here) if move.action == Action.CLEAN]
    first += before_order.an_order(here, group)
    if component.kind == FIRMWARE:
        return tuple(before_order.firmware_anew(here))
    last: list[NextStep] = []
    # The flash of a board that is worn out is looked at and flashed for nothing.
    board = component.unit == MAINBOARD and component.kind != DRIVE
    if board:
        first += before_order.ordering_a_board(here, group)
        last = [step for step in before_order.firmware_anew(here) if step not in first]
    return (*first, wording.repair(here, group, Action.REPLACE), *last)
