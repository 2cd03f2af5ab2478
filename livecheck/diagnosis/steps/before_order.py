"""What comes before anything is ordered: what costs nothing, contacts, a look whether it shows.

Common practice of the trade, no source: dirt, leads and what hangs come before a board, a part's
own firmware before the part, and what was not seen since something was done is watched first.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.diagnosis.steps import wording
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.moves import as_step, possible
from livecheck.diagnosis.steps.prediction import results
from livecheck.diagnosis.steps.situation import SETS, Move, Situation, losing
from livecheck.diagnosis.steps.treatments import SILENCE
from livecheck.diagnosis.verdict import RepairGroup
from livecheck.records import LookedInside, NextStep, Side
from livecheck.topology.came_to_light import GUIDED
from livecheck.topology.ids import THE_FIRMWARE, THE_HUNG, ComponentId

_EDGE: Final = ("memory-slot", "pcie-slot")
"""Common practice, no source: such a slot is cleaned and its part put in anew once more
before a board is ordered for it; dirt survives a swap."""
_BEFORE_A_BOARD: Final = (Action.POWER_AWAY, Action.EXCHANGE_LEAD)
_DIRTY: Final = 0.1
"""Assumed: a contact this likely is made anew before a board is thought of."""
_UPDATED: Final = 0.2
"""Assumed: a drive this likely has its firmware updated before it is bought anew."""
_PANEL: Final = "panel"
"""Its lead may only sit loose: common practice, no source."""
_ADAPTER: Final = "adapter"
_STALLS: Final = ("link", "pace")
"""Symptom groups of the checks that fail where a drive lets one wait or drops off its bus."""
_COVER: Final = "bottom cover"
"""Whoever had it off has looked inside."""
_HOT: Final = re.compile(r"-hot$|^heat\.|thermal|throttl")
"""Checks that fail by heat."""


def looked_inside(here: Situation) -> bool:
    """Whether somebody has looked below the cover, or had it off."""
    return told_inside(here) or _COVER in here.bench.opened


def told_inside(here: Situation) -> bool:
    """Whether somebody has said that he looked for what was spilled, came loose or touches."""
    return any(LookedInside() in one.run.answers for one in here.graph.home)


def inspect(here: Situation) -> NextStep:
    """The cover off, and a look."""
    minutes = here.bench.covers(["memory-module"]) + here.bench.trial()
    return wording.bare(here, Action.INSPECT, "machine", "why.inspect-inside", minutes)


def a_stalling_drive(here: Situation) -> list[NextStep]:
    """Its own firmware, where it stalls or drops out and has lost nothing, before it is bought.

    Once a setting was tried, as that costs no risk.
    """
    lost = losing(here)
    steps = []
    for one in here.found:
        at = here.component_at(one.reading.at) if one.run == here.looked else None
        if not (one.failed and one.symptom_group in _STALLS and at is not None and not one.beside):
            continue
        number, target = here.graph.index[at.id], str(at.id)
        # Told without a name, what was written anew is taken to be what was proposed.
        treated = max(here.now.treated.get(own, 0) for own in (at.id, THE_FIRMWARE))
        tried = treated or at.known_good or number in lost
        drive = at.kind == "drive" and at.side is Side.DEVICE and not at.external
        likely = here.belief.marginals[number] >= _UPDATED
        if drive and likely and not tried and here.bench.allows(Action.REFLASH, at.kind, target):
            steps.append(wording.update(here, number))
    return steps[:1]


def a_board(here: Situation, group: RepairGroup) -> list[Move]:
    """Treatments, else contacts likely enough, before a board is thought of."""
    moves = possible(here)
    wanted = (*_BEFORE_A_BOARD, Action.CLEAN) if _by_heat(here, group) else _BEFORE_A_BOARD
    first = [move for move in moves if move.action in wanted]
    return first or [move for move in moves if _anew(here, move)]


def _a_part(here: Situation, own: ComponentId) -> list[Move]:
    """All power away, which takes no screw, before what may only hang is ordered, and its contact
    made anew once before what does not answer, or fails by hand, is. What is the part's alone is
    no hang. Another adapter is plugged in, which takes no screw, before one is bought."""
    place, last = here.now.home(own), (here.looked, here.now.run.number)
    blamed = [
        (one, dict(one.members))
        for one in here.found
        if one.run in last and one.failed and here.graph.index[own] in dict(one.members)
    ]
    if place is None:
        return []
    silent = any(
        one.symptom_group == SILENCE or one.reading.check.startswith(GUIDED) for one, _ in blamed
    )
    hung = here.graph.index.get(THE_HUNG)
    meant = [set(members) for one, members in blamed if not one.finding]
    hangs = any(hung in some for some in meant) and {here.graph.index[own]} not in meant
    moves = possible(here)
    away = [move for move in moves if move.action == Action.POWER_AWAY]
    anew = [move for move in moves if move.action == Action.RESEAT and move.target == place]
    seated = here.now.seatings.get(place, 0)
    other = [move for move in moves if move.action == Action.SWAP and move.target == str(own)]
    plugged = here.now.kinds.get(own) == _ADAPTER
    return [
        *(away if hangs else ()),
        *(anew if (silent or here.now.kinds.get(own) == _PANEL) and not seated else ()),
        *(other if plugged else ()),
    ]


def _anew(here: Situation, move: Move) -> bool:
    anew = move.action in (Action.RESEAT, Action.CLEAN_CONTACTS) and move.cures is not None
    return anew and here.belief.marginals[move.cures or 0] >= _DIRTY


def _by_heat(here: Situation, group: RepairGroup) -> bool:
    """Whether what is blamed on a unit failed by heat."""
    own = set(group.members)
    fails = (one for one in here.found if one.failed and own & {n for n, _ in one.members})
    return any(_HOT.search(one.reading.check) for one in fails)


def firmware_anew(here: Situation) -> list[NextStep]:
    """The board's firmware, while something fails and it was not written anew yet."""
    untried = here.now.treated.get(THE_FIRMWARE, 0) == 0 and here.fails_now
    return [wording.last_try(here)] if untried and here.bench.allows(Action.REFLASH) else []


def an_order(here: Situation, group: RepairGroup) -> list[NextStep]:
    """What comes before anything is bought: what costs nothing, then a look whether it still
    shows, where something was done since it did."""
    component = here.graph.components[group.lead]
    moves = possible(here)
    first = _a_part(here, component.id)
    if component.kind in _EDGE:
        anew = (Action.RESEAT, Action.CLEAN_CONTACTS)
        first += [m for m in moves if m.action in anew and m.target == str(component.id)]
    same, own = here.graph.numbers_as_now, set(group.members)
    fails = (one for one in here.found if one.failed and one.run in same)
    if not any(own & {number for number, _ in one.members} for one in fails):
        first += [m for m in moves if m.action == Action.SOAK]
    return [*(as_step(here, move) for move in first), *a_stalling_drive(here)]


def ordering_a_board(here: Situation, group: RepairGroup) -> list[NextStep]:
    """A look inside; the cooling cleaned, where the board fails by heat; and the board's firmware
    written anew where that comes sooner by P over C."""
    steps: list[NextStep] = []
    anew = firmware_anew(here)
    firmware = here.graph.index.get(THE_FIRMWARE)
    if anew and firmware is not None:
        ratio = here.belief.marginals[firmware] / here.bench.repair(firmware)
        steps += anew if ratio > group.probability / here.bench.repair(group.lead) else []
    if _by_heat(here, group):
        kept = here.belief.sets[:SETS]
        steps += [
            wording.step(here, move, results(move.tests, kept))
            for move in possible(here)
            if move.action == Action.CLEAN
        ]
    if not looked_inside(here) and here.bench.allows(Action.INSPECT):
        steps.append(inspect(here))
    return steps
