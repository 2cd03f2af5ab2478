"""Whether cases that had no part in it are judged better by learned tables.

The cases are parted into ``FOLDS``, all of one machine into the same; each is judged by tables
learned from the others. Scored is the natural log of the chance given to the unit that was
proved, a proper score (Gneiting and Raftery, J. Am. Stat. Assoc. 102, 2007), floored so that no
one case decides. Tables are used if the mean gain is ``SURE`` standard errors above zero.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, log, sqrt
from typing import Final

from livecheck.diagnosis import weigh
from livecheck.learning.apply import applied
from livecheck.learning.fit import fit
from livecheck.learning.lessons import (
    Lesson,
    Taught,
    as_it_came,
    unit_chances,
    unit_proved,
)
from livecheck.records import HeldOut, Knowledge

FOLDS: Final = 5
MOST_JUDGED: Final = 600
"""Cases judged anew, evenly chosen: enough for a gain of a tenth, and minutes at most."""
FLOOR: Final = 1e-3
SURE: Final = 2.0
"""Assumed: one worse update in forty passes by chance."""

Given = tuple[float, bool]
"""Chance given to the unit that was proved, and whether it was the likeliest."""


def judged(taught: Taught, tables: Knowledge) -> Given:
    """A case under some tables; its first run knows what was proved."""
    weighed = weigh(as_it_came(taught.runs), tables)
    chances = unit_chances(weighed)
    given = chances.get(unit_proved(weighed, taught.proved) or "", 0.0)
    return given, given == max(chances.values())


def held_out(knowledge: Knowledge, cases: Sequence[tuple[Taught, Lesson]]) -> HeldOut | None:
    """How cases are judged by tables learned from others; None where those move nothing."""
    pairs = list(_pairs(knowledge, cases))
    if len(pairs) < 2:
        return None
    gains = [_log(after) - _log(before) for before, after in pairs]
    mean = sum(gains) / len(gains)
    spread = sum((gain - mean) ** 2 for gain in gains) / (len(gains) - 1)
    return HeldOut(
        cases=len(pairs),
        right_before=sum(before[1] for before, _ in pairs),
        right_after=sum(after[1] for _, after in pairs),
        mended=sum(after[1] > before[1] for before, after in pairs),
        spoilt=sum(after[1] < before[1] for before, after in pairs),
        log_before=sum(_log(before) for before, _ in pairs) / len(pairs),
        log_after=sum(_log(after) for _, after in pairs) / len(pairs),
        standard_error=sqrt(spread / len(gains)),
    )


def least_machines(knowledge: Knowledge) -> int:
    """So many are needed that each fold has enough others to learn from."""
    return ceil(knowledge.model.least_cases.value * FOLDS / (FOLDS - 1))


def is_better(found: HeldOut | None) -> bool:
    """Whether the learned tables may be used."""
    if found is None:
        return False
    return found.log_after - found.log_before > SURE * found.standard_error


def _pairs(
    knowledge: Knowledge, cases: Sequence[tuple[Taught, Lesson]]
) -> Iterator[tuple[Given, Given]]:
    machines = {one: n for n, one in enumerate(sorted({said.machine for _, said in cases}))}
    every = -(-len(cases) // MOST_JUDGED)
    for fold in range(FOLDS):
        others = [said for _, said in cases if machines[said.machine] % FOLDS != fold]
        rows = fit(knowledge, others)
        tables = applied(knowledge, rows, len(others))
        for number, (taught, said) in enumerate(cases):
            own = machines[said.machine] % FOLDS == fold and number % every == 0
            if own and rows:
                yield (said.given, said.likeliest), judged(taught, tables)


def _log(given: Given) -> float:
    return log(max(given[0], FLOOR))
