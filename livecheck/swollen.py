"""A battery that was seen to be swollen at the counter: a finding of every run it is still in.

Pure. Whoever takes it in sees it, and no sensor does; it is replaced whatever else is found
(common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import msgspec

from livecheck import intake
from livecheck.records import IntakeRow, Outcome, Part, PartIs, Reading, Run, ToldLine
from livecheck.wording import text

CHECK: Final = "intake.swollen"
CAUTION: Final = "cell"
BATTERY: Final = "battery"


def with_swollen(
    run: Run, before: Sequence[Run], told: Iterable[ToldLine], sheet: dict[str, IntakeRow]
) -> Run:
    """The run, where a swollen battery was told of, with a reading at the one that is in."""
    marked = CAUTION in intake.cautions(told, sheet)
    own = [*(one for one in before if not one.in_known_good_machine), run]
    fitted = next((part for part in run.inventory.parts if part.kind == BATTERY), None)
    if not marked or fitted is None or run.in_known_good_machine or _judged(run):
        return run
    first = next(p for one in own for p in one.inventory.parts if p.kind == BATTERY)
    other = _other(first, fitted, own)
    reading = Reading(
        check=CHECK,
        at=fitted.id,
        outcome=Outcome.PASSED if other else Outcome.FAILED,
        says=text("swollen.other" if other else "swollen.seen"),
        source=text("swollen.source"),
    )
    return msgspec.structs.replace(run, readings=(*run.readings, reading))


def _judged(run: Run) -> bool:
    return any(reading.check == CHECK for reading in run.readings)


def _other(first: Part, fitted: Part, runs: Sequence[Run]) -> bool:
    """Whether the battery that came in is out: by its number, else as it was told."""
    if first.identity and fitted.identity:
        return first.identity != fitted.identity
    answers = (answer for one in runs for answer in one.answers)
    return any(isinstance(one, PartIs) and one.place == fitted.place for one in answers)
