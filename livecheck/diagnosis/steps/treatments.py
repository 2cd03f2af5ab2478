"""Cleaning and re-flashing: repairs that are trials at the same time."""

from __future__ import annotations

from collections.abc import Iterator

from livecheck.diagnosis.model.windows import COOLING
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.prediction import changed
from livecheck.diagnosis.steps.situation import Move, Situation
from livecheck.topology.ids import FIRMWARE, THE_FIRMWARE


def moves(here: Situation) -> Iterator[Move]:
    """What may cure what fails now, unless it was done before."""
    bench, now = here.bench, here.now
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
                tests=here.tests(changed(now, {}, part)),
                about=here.graph.index.get(part),
                cures=here.graph.index.get(part),
            )
    if now.treated.get(THE_FIRMWARE, 0) == 0 and bench.allows(Action.REFLASH):
        yield Move(
            action=Action.REFLASH,
            target=FIRMWARE,
            minutes=bench.hands(FIRMWARE) + bench.trial(),
            tests=here.tests(changed(now, {}, THE_FIRMWARE)),
            about=here.graph.index.get(THE_FIRMWARE),
            cures=here.graph.index.get(THE_FIRMWARE),
        )
