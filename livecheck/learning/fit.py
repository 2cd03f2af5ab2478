"""Figures fitted to lessons: from the table to the shop as a whole, from there to each figure.

How readily faults show in general, and how often checks alarm in general, is fitted first, over
all checks together; that is where each figure starts from, so that a figure nothing was seen of
still follows its shop, and one that was seen little stays near (a hierarchical model, Gelman
and others, Bayesian Data Analysis, 3rd edition, chapter 5, with the means fitted one level
after the other in place of all at once).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from livecheck.learning import update
from livecheck.learning.lessons import (
    ALARM,
    SHOWS,
    STATE,
    WHOLE,
    Figure,
    FigureTried,
    Lesson,
    Table,
)
from livecheck.learning.update import Count
from livecheck.records import Knowledge, Learned

EVERY: Final = "*"
"""Name of what holds for every row of a table that has none of its own."""
MOST_DETECT: Final = 0.98


def fit(knowledge: Knowledge, lessons: Sequence[Lesson]) -> tuple[Learned, ...]:
    """What these cases do to the tables; nothing where there are too few of them.

    Each machine counts once, however often it came back.
    """
    often = Counter(one.machine for one in lessons)
    if len(often) < knowledge.model.least_cases.value:
        return ()
    counted = [(one, one.believed / often[one.machine]) for one in lessons]
    found = [*_weights(knowledge, counted)]
    for tables in ((SHOWS,), (ALARM, STATE)):
        found += _chances(counted, tables, knowledge.model.table_looks.value)
    return tuple(found)


def _weights(knowledge: Knowledge, counted: Sequence[tuple[Lesson, float]]) -> Iterator[Learned]:
    expected: defaultdict[str, float] = defaultdict(float)
    found: defaultdict[str, float] = defaultdict(float)
    every = faulty = 0.0
    for one, counts in counted:
        broken = not any(kind in one.found for kind in WHOLE)
        every, faulty = every + counts, faulty + counts * broken
        for kind, share in one.found.items():
            found[kind] += counts * share
        for kind, share in one.expected.items():
            expected[kind] += counts * share * (broken or kind in WHOLE)
    for kind, hoped in sorted(expected.items()):
        cases = every if kind in WHOLE else faulty
        if hoped > 0.0:
            worth = update.worth_of(knowledge.model.table_cases.value, hoped / cases)
            count = Count(worth=worth, expected=hoped, found=found[kind], cases=cases)
            yield _learned(("weight", kind), count, count.factor)


def _learned(figure: Figure, count: Count, factor: float) -> Learned:
    return Learned(
        table=figure[0],
        name=figure[1],
        expected=round(count.expected, 3),
        found=round(count.found, 3),
        cases=round(count.cases, 3),
        factor=round(update.bounded(factor), 4),
    )


def _chances(
    counted: Sequence[tuple[Lesson, float]], tables: tuple[Table, ...], looks: float
) -> Iterator[Learned]:
    """The factors on the odds of every chance that was tried, and that on all of them.

    Of what they have in common each case tells as much as any other, however much it tried.
    """
    tried: defaultdict[Figure, list[FigureTried]] = defaultdict(list)
    every: list[FigureTried] = []
    for one, counts in counted:
        own = [trial for trial in one.trials if trial.figure[0] in tables]
        for trial in own:
            tried[trial.figure].append(_in_part(trial, counts))
            every.append(_in_part(trial, counts / len(own)))
    if not every:
        return
    whole = _count(every, 1.0, looks)
    weighted = [(trial.chance, trial.counts * trial.scale) for trial in every]
    common = update.common_factor(weighted, whole.expected * whole.factor)
    yield _learned((tables[0], EVERY), whole, common)
    for figure, trials in sorted(tried.items()):
        count = _count(trials, common, looks)
        scale = sum(t.counts * t.scale for t in trials) / count.cases
        after = min(MOST_DETECT, count.expected * count.factor / count.cases / scale)
        before = sum(t.counts * t.chance for t in trials) / count.cases
        yield _learned(figure, _count(trials, 1.0, looks), update.odds_ratio(before, after))


def _in_part(trial: FigureTried, counts: float) -> FigureTried:
    return msgspec.structs.replace(trial, counts=trial.counts * counts)


def _count(trials: Sequence[FigureTried], factor: float, looks: float) -> Count:
    """Expected and found of some trials, their chances taken with a factor on their odds.

    Of a failure that something else explains as well the figure counts its share.
    """
    expected = found = cases = 0.0
    for trial in trials:
        chance = trial.scale * update.moved(trial.chance, factor)
        either = 1.0 - (1.0 - chance) * (1.0 - trial.other)
        expected += trial.counts * chance
        found += trial.counts * trial.failed * chance / either
        cases += trial.counts
    worth = update.worth_of(looks, expected / cases)
    return Count(worth=worth, expected=expected, found=found, cases=cases)
