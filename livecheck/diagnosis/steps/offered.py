"""The step that comes next, and the two that are told beside it.

These two are for whoever cannot do the first, or did it for nothing. So of them what only looks
again, or does the same once more, gives way to what takes no screw and may be the repair itself,
or cleans the cooling where no other part is likelier, most chance over cost first, as in Kadane &
Simon 1977.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.diagnosis.explain import locked
from livecheck.diagnosis.steps import wording
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.situation import Move, Situation, losing
from livecheck.diagnosis.verdict import Verdict
from livecheck.records import NextStep, Side
from livecheck.topology.ids import MAINBOARD, THE_FIRMWARE, THE_HUNG

_TOLD: Final = 3
_WORTH: Final = 0.0015
"""Assumed: chance of mending for each minute, from which on it is tried: one in ten for an hour."""
_LOOKS: Final = (Action.SOAK, Action.DEEPER)
"""Steps that take long and mend nothing."""
_NO_SCREW: Final = {
    Action.POWER_AWAY: ("machine", THE_HUNG),
    Action.REFLASH: ("firmware", THE_FIRMWARE),
}
"""Treatments from outside: at what, and what they cure."""


def offered(here: Situation, judged: Verdict, steps: tuple[NextStep, ...]) -> tuple[NextStep, ...]:
    """The first step and those beside it; what may mend is among them while nothing is named."""
    told = list(steps[:_TOLD])
    if not steps or judged.group is not None or judged.side is Side.NO_FAULT:
        return tuple(told)
    for step in _mending(here, judged, steps):
        idle = [at for at in range(1, len(told)) if _idle(told, at)]
        if step.action in {one.action for one in told}:
            continue
        if len(told) == _TOLD and idle:
            del told[idle[-1]]
        if len(told) < _TOLD:
            told.append(step)
    return tuple(told)


def _idle(told: Sequence[NextStep], at: int) -> bool:
    """Whether a step only looks again, or does what one before it does."""
    own, before = told[at].action, {one.action for one in told[:at]}
    part_of = own == Action.REMOVE and Action.MINIMUM in before
    return own in _LOOKS or own in before or part_of


def _mending(here: Situation, judged: Verdict, steps: Sequence[NextStep]) -> list[NextStep]:
    """What may be the repair itself and takes no part, most chance over cost first."""
    cures = list(_system(here, judged))
    part = next((group for group in judged.groups if group.unit != MAINBOARD), None)
    if part is not None:
        cleaned = (Action.CLEAN, str(here.graph.components[part.lead].id))
        cures += [(part.probability, one) for one in steps if (one.action, one.target) == cleaned]
    for action, (at, own) in _NO_SCREW.items():
        number = here.graph.index.get(own)
        chance = 0.0 if number is None else here.belief.marginals[number]
        cures += [(chance, one) for one in steps if (one.action, one.target) == (action, at)]
    if Action.POWER_AWAY not in {step.action for step in steps}:
        cures += _power_away(here)
    worth = [(chance / step.minutes, step) for chance, step in cures]
    worth.sort(key=lambda one: -one[0])
    return [step for value, step in worth if value >= _WORTH]


def _power_away(here: Situation) -> Iterator[tuple[float, NextStep]]:
    """From what may only hang, though it is no sign of the complaint."""
    hung = here.graph.index.get(THE_HUNG)
    failed = (one for one in here.found if one.failed and one.run == here.looked)
    if hung is None or here.now.treated.get(THE_HUNG, 0):
        return
    if any(hung in dict(one.members) for one in failed) and here.bench.allows(Action.POWER_AWAY):
        minutes = here.bench.knowledge.bench.actions.power_away.minutes + here.bench.trial()
        away = Move(action=Action.POWER_AWAY, target="machine", minutes=minutes, tests=(),
                    about=hung, cures=hung)  # fmt: skip
        yield here.belief.marginals[hung], wording.step(here, away, ())


def _system(here: Situation, judged: Verdict) -> Iterator[tuple[float, NextStep]]:
    """The installed system, unless nobody could read it, or its drive loses data."""
    group = next((one for one in judged.groups if one.side is Side.SOFTWARE), None)
    if group is None or locked(here.graph) is not None or losing(here):
        return
    if here.bench.allows(Action.REPAIR_SYSTEM, "software", "software"):
        yield group.probability, wording.beside(here, group)
