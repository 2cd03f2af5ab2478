"""Repairs that are trials at the same time: cleaning, writing anew, another lead, no power."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from livecheck.diagnosis.model.windows import COOLING
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.prediction import changed
from livecheck.diagnosis.steps.situation import (
    Move,
    Situation,
    by_hand,
    complaint_alone,
)
from livecheck.topology.ids import (
    ANTENNA_LEAD,
    DRIVE_LEAD,
    FIRMWARE,
    THE_FIRMWARE,
    THE_HUNG,
    ComponentId,
)

SILENCE: Final = "silence"
"""Symptom group of the checks that ask whether a part answers."""
DISCHARGED: Final = "bench.battery-out"
LIKELY: Final = 0.05
"""Assumed: what is less likely than this is not exchanged or left without power for a trial."""


def moves(here: Situation) -> Iterator[Move]:
    """What may cure what fails now, unless it was done before."""
    if not here.fails_now:
        return
    bench, now = here.bench, here.now
    away = bench.knowledge.bench.actions.power_away.minutes
    if not by_hand(here):
        yield from cleaning(here)
    if _blamed(here, THE_FIRMWARE) and not complaint_alone(here):
        minutes = bench.hands(FIRMWARE)
        yield from _treat(here, Action.REFLASH, THE_FIRMWARE, minutes, (FIRMWARE, None))
    if _blamed(here, THE_HUNG) and not _discharged(here):
        yield from _treat(here, Action.POWER_AWAY, THE_HUNG, away, ("machine", None))
    for place in now.parts:
        for kind in (DRIVE_LEAD, ANTENNA_LEAD):
            minutes = bench.covers([kind]) + bench.hands(kind)
            own = now.lead(place, kind)
            if _likely(here, own):
                yield from _treat(here, Action.EXCHANGE_LEAD, own, minutes, (str(own), place))


def cleaning(here: Situation) -> Iterator[Move]:
    """The cooling cleaned, unless it was done before or is the shop's."""
    for part in here.now.parts.values():
        component = here.component(part)
        if component is not None and component.kind == COOLING and not component.known_good:
            minutes = here.bench.covers([COOLING]) + here.bench.hands(COOLING, reseat=True)
            yield from _treat(here, Action.CLEAN, part, minutes, (str(part), None))


def is_silent(here: Situation) -> bool:
    """Whether a part did not answer when the machine last looked at itself."""
    last = (one for one in here.found if one.failed and one.run == here.looked)
    return any(one.symptom_group == SILENCE for one in last)


def _discharged(here: Situation) -> bool:
    """Whether the worksheet's look without the battery took all power away already."""
    now = here.graph.numbers_as_now
    return any(one.reading.check == DISCHARGED and one.run in now for one in here.found)


def _blamed(here: Situation, own: ComponentId) -> bool:
    """Whether a fault of it could be what failed; treating anything else tells nothing of it."""
    return here.graph.index.get(own) in here.blamed()


def _likely(here: Situation, own: ComponentId) -> bool:
    number = here.graph.index.get(own)
    likely = number is not None and here.belief.marginals[number] >= LIKELY
    return likely and _blamed(here, own)


def _treat(
    here: Situation, action: Action, own: ComponentId, minutes: float, at: tuple[str, str | None]
) -> Iterator[Move]:
    """``at``: target and place of the step."""
    target, to = at
    number = here.graph.index.get(own)
    if number is None or here.now.treated.get(own, 0):
        return
    if here.bench.allows(action, here.graph.components[number].kind, target):
        yield Move(
            action=action,
            target=target,
            to=to,
            minutes=minutes + here.bench.trial(),
            tests=here.tests(changed(here.now, {}, own)),
            about=number,
            cures=number,
        )
