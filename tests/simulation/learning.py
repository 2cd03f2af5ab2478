"""What confirmed cases teach: ``python -m tests.simulation.learning --cases 3,200 --world 1``.

One world is held over all cases. Tables learned from the first so many cases are scored on
others of the same world, beside the tables as they stand, by what the engine says of the machine
as it came: in how many the likeliest unit is the one that was proved (``isolated``), the mean
natural log of the chance that unit was given (``log_score``, floored at ``FLOOR``), and how far
the chance of the likeliest unit is from how often it is right (``stated`` beside ``isolated``,
and by bins of a tenth, ``calibration_error``: Naeini, Cooper, Hauskrecht, AAAI 2015). With
``--false`` so many outcomes of those learned from are another component's, drawn evenly; those
scored on stay true.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from math import log, sqrt
from pathlib import Path
from typing import Any, Final, NamedTuple

from livecheck import knowledge
from livecheck.diagnosis import weigh
from livecheck.records import Knowledge
from tests.simulation.confirmed import NO_FAULT, Confirmed, Shelf, mistaken

FLOOR: Final = 1e-3
HELD_OUT: Final = 991
"""Added to the seed of what is learned from."""
BINS: Final = 10

Learner = Callable[[Knowledge, Sequence[Confirmed]], Knowledge]


class Judged(NamedTuple):
    """What the engine said of one case."""

    truth: float
    """Chance it gave to what was proved."""
    right: bool
    top: float
    """Chance it gave to the likeliest."""


def judged(one: Confirmed, tables: Knowledge) -> Judged:
    """A case under some tables; a set of faults counts for each of its units in equal parts."""
    weighed = weigh(one.runs, tables)
    graph = weighed.bench.graph
    mass: defaultdict[str, float] = defaultdict(float)
    for members, chance in weighed.belief.sets:
        units = {graph.components[number].group for number in members} or {NO_FAULT}
        for unit in units:
            mass[unit] += chance / len(units)
    found = graph.named(one.proved.component)
    truth = found.group if found is not None else one.proved.component
    top = max(mass, key=lambda unit: mass[unit])
    return Judged(mass[truth], top == truth, mass[top])


def scores(said: Sequence[Judged]) -> dict[str, float]:
    """The figures of many cases."""
    count = len(said)
    bins: defaultdict[int, list[Judged]] = defaultdict(list)
    for one in said:
        bins[min(int(one.top * BINS), BINS - 1)].append(one)
    gaps = (abs(sum(one.right - one.top for one in some)) for some in bins.values())
    return {
        "isolated": round(sum(one.right for one in said) / count, 4),
        "stated": round(sum(one.top for one in said) / count, 4),
        "log_score": round(sum(map(_log, said)) / count, 4),
        "calibration_error": round(sum(gaps) / count, 4),
    }


def gained(before: Sequence[Judged], after: Sequence[Judged]) -> dict[str, float]:
    """Gain of the log score over the same cases, and its standard error."""
    gains = [_log(new) - _log(old) for old, new in zip(before, after, strict=True)]
    mean = sum(gains) / len(gains)
    spread = sum((gain - mean) ** 2 for gain in gains) / (len(gains) - 1)
    return {"gain": round(mean, 4), "standard_error": round(sqrt(spread / len(gains)), 4)}


def _log(one: Judged) -> float:
    return log(max(one.truth, FLOOR))


def main(learner: Learner) -> int:
    """Print the figures of tables learned from each number of cases."""
    given = _given()
    began, tables = time.perf_counter(), knowledge.load()
    if given.keep:
        given.keep.mkdir(parents=True, exist_ok=True)
    counts = [int(count) for count in given.cases.split(",")]
    test = Shelf(given.world, given.seed + HELD_OUT, given.looks).cases(
        given.scored, tables, given.keep
    )
    every = Shelf(given.world, given.seed, given.looks).cases(max(counts), tables, given.keep)
    dice = random.Random(f"{given.seed}/false")
    every = [mistaken(c, dice, tables) if dice.random() < given.false else c for c in every]
    found: dict[str, Any] = {}
    with ProcessPoolExecutor(max_workers=given.workers) as pool:

        def said(by: Knowledge) -> list[Judged]:
            return list(pool.map(partial(judged, tables=by), test, chunksize=50))

        before = said(tables)
        found["table"] = scores(before)
        for count in counts:
            learned = learner(tables, every[:count])
            after = before if learned == tables else said(learned)
            moved = {"moved": learned != tables, **scores(after), **gained(before, after)}
            found[f"{count} cases"] = moved
    print(f"{time.perf_counter() - began:.0f} s", file=sys.stderr)
    print(json.dumps(found, indent=1))
    return 0


def _given() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.simulation.learning")
    parser.add_argument("--cases", default="3,200", help="confirmed cases to learn from (3,200)")
    parser.add_argument("--scored", type=int, default=400, help="others to score on (400)")
    parser.add_argument("--seed", type=int, default=1, help="which cases (1)")
    parser.add_argument("--world", type=int, default=1, help="which world (1)")
    parser.add_argument("--looks", type=int, default=1, help="runs of each machine (1)")
    parser.add_argument("--false", type=float, default=0.0, help="share of false outcomes (0)")
    parser.add_argument("--workers", type=int, default=1, help="processes (1)")
    parser.add_argument("--keep", type=Path, help="folder for the cases: they are made once")
    return parser.parse_args()


def as_they_stand(tables: Knowledge, _: Sequence[Confirmed]) -> Knowledge:
    """Learns nothing."""
    return tables


if __name__ == "__main__":
    sys.exit(main(as_they_stand))
