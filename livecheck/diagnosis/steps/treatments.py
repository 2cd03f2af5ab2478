"""Cleaning and re-flashing: repairs that are trials at the same time."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.prediction import PredictedTest, changed
from livecheck.diagnosis.steps.situation import Move, Situation
from livecheck.topology.configuration import Configuration
from livecheck.topology.ids import FIRMWARE, THE_FIRMWARE

COOLING: Final = "cooling"


def moves(here: Situation) -> Iterator[Move]:
    """What may cure what fails now, unless it was done before."""
    bench, now, model = here.bench, here.now, here.bench.knowledge.model
    if not here.fails_now:
        return
    kinds = {p: c.kind for p in now.parts.values() if (c := here.component(p)) is not None}
    for part in (part for part, kind in kinds.items() if kind == COOLING):
        if now.treated.get(part, 0) == 0 and bench.allows(Action.CLEAN, COOLING, str(part)):
            minutes = bench.covers([COOLING]) + bench.hands(COOLING, reseat=True)
            yield Move(
                action=Action.CLEAN,
                target=str(part),
                minutes=minutes + bench.trial(),
                tests=_cured(here, changed(now, {}, part), model.cleaning_cures.value),
                about=here.graph.index.get(part),
                cures=here.graph.index.get(part),
            )
    if now.treated.get(THE_FIRMWARE, 0) == 0 and bench.allows(Action.REFLASH):
        yield Move(
            action=Action.REFLASH,
            target=FIRMWARE,
            minutes=bench.hands(FIRMWARE) + bench.trial(),
            tests=_cured(here, changed(now, {}, THE_FIRMWARE), model.reflash_cures.value),
            about=here.graph.index.get(THE_FIRMWARE),
            cures=here.graph.index.get(THE_FIRMWARE),
        )


def _cured(here: Situation, after: Configuration, chance: float) -> tuple[PredictedTest, ...]:
    tests = []
    for now, then in zip(here.tests(here.now), here.tests(after), strict=True):
        if now.misses.keys() != then.misses.keys():
            tests.append(msgspec.structs.replace(then, cured=chance, untreated=now.misses))
    return tuple(tests)
