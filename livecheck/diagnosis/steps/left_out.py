"""Trials that are left out: what they are about is hardly at fault, or comes before an order."""

from __future__ import annotations

from typing import Final

from livecheck.diagnosis.steps import wording
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.situation import Move, Situation
from livecheck.diagnosis.steps.treatments import LIKELY, is_silent
from livecheck.diagnosis.verdict import RepairGroup, Verdict
from livecheck.records import Side
from livecheck.topology.ids import MAINBOARD, THE_HUNG

_HARDLY: Final = 0.06
"""Assumed: what is less likely than this is not taken out while one unit is likelier than not."""
_HARDLY_BOARD: Final = 0.02
"""Assumed: the same while that unit is the board, which costs more than a few trials."""


def two_alike(here: Situation, judged: Verdict) -> tuple[RepairGroup, ...]:
    """The two likeliest units, where hardly anything else is at fault; else none."""
    pair = judged.groups[:2]
    open_yet = (Side.UNDETERMINED, Side.SOFTWARE)
    units = all(
        g.proven and g.relevant and g.side not in open_yet and g.unit != MAINBOARD for g in pair
    )
    needed = here.bench.knowledge.model.last_board_order.value
    enough = sum(g.probability for g in pair) >= needed > max(g.probability for g in pair)
    return pair if len(pair) == 2 and units and enough else ()


def in_vain(here: Situation, judged: Verdict, move: Move) -> bool:
    """Whether a trial is about what is hardly at fault, while one unit is likelier than not.

    Every part that is taken out for nothing may be harmed, and its contact spoilt, and what is
    written may be cut off. What is or comes where it failed tells of its place too, which is the
    board's.
    """
    lead = judged.groups[0] if judged.groups else None
    if lead is None or not (lead.proven and lead.relevant):
        return False
    alike = two_alike(here, judged)
    known = alike or lead.probability >= here.bench.knowledge.model.last_order.value
    leads = {number for group in (lead, *alike) for number in group.members}
    own = {number for number in (move.about, move.cures) if number is not None}
    risky = move.action in (*wording.HANDS_INSIDE, Action.REFLASH)
    hands = risky and own and own.isdisjoint(leads)
    hardly = _HARDLY
    if lead.unit == MAINBOARD:
        at = {move.to, *(here.now.home(here.graph.components[n].id) for n in own)}
        hands = hands and at.isdisjoint(symptom.at for symptom in here.symptoms)
        hardly = _HARDLY_BOARD
    return bool(known) and bool(hands) and max(here.belief.marginals[n] for n in own) < hardly


def waits(here: Situation, move: Move) -> bool:
    """Whether a treatment is no step by itself, and only comes before an order.

    Cooling that could not be what failed, and all power away from what hardly hangs.
    """
    if move.action == Action.POWER_AWAY:
        return not is_silent(here) and here.belief.marginals[here.graph.index[THE_HUNG]] < LIKELY
    return move.action == Action.CLEAN and move.about not in here.blamed()
