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

import msgspec

from livecheck import knowledge
from livecheck.case_index.learned import work_out
from livecheck.diagnosis import weigh
from livecheck.learning.apply import applied
from livecheck.learning.held_out import is_better
from livecheck.learning.lessons import Lesson, Taught, lesson
from livecheck.records import Knowledge
from tests.simulation.confirmed import NO_FAULT, Confirmed, Shelf, mistaken

FLOOR: Final = 1e-3
HELD_OUT: Final = 991
"""Added to the seed of what is learned from."""
BINS: Final = 10


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


def main() -> int:
    """Print the figures of tables learned from each number of cases."""
    given = _given()
    began, tables = time.perf_counter(), knowledge.load()
    if given.keep:
        given.keep.mkdir(parents=True, exist_ok=True)
    counts = [int(count) for count in given.cases.split(",")]
    test = Shelf(given.world, given.seed + HELD_OUT, given.looks).cases(
        given.scored, tables, given.keep
    )
    found: dict[str, Any] = {}
    with ProcessPoolExecutor(max_workers=given.workers) as pool:
        cases = _lessons(given, max(counts), tables, pool)

        def said(by: Knowledge) -> list[Judged]:
            return list(pool.map(partial(judged, tables=by), test, chunksize=20))

        before = _kept(given, lambda: said(tables))
        found["table"] = scores(before)
        for count in counts:
            made = work_out(tables, cases[:count], "2024-01-03T00:00:00Z")
            used = made is not None and is_better(made.held_out)
            learned = applied(tables, made.learned, count) if made and used else tables
            after = said(learned) if used else before
            found[f"{count} cases"] = {
                "used": used,
                **scores(after),
                **gained(before, after),
                "held_out": msgspec.to_builtins(made.held_out) if made else None,
            }
            print(json.dumps(found[f"{count} cases"]), file=sys.stderr, flush=True)
    print(f"{time.perf_counter() - began:.0f} s", file=sys.stderr)
    print(json.dumps(found, indent=1))
    return 0


def _kept(given: argparse.Namespace, judge: Callable[[], list[Judged]]) -> list[Judged]:
    """What the tables as they stand say of the cases scored; judged once."""
    name = f"judged-{given.world}-{given.seed}-{given.looks}-{given.scored}.json"
    file = given.keep / name if given.keep else None
    if file and file.exists():
        return msgspec.json.decode(file.read_bytes(), type=list[Judged])
    found = judge()
    if file:
        file.write_bytes(msgspec.json.encode(found))
    return found


def _lessons(
    given: argparse.Namespace, most: int, tables: Knowledge, pool: ProcessPoolExecutor
) -> list[tuple[Taught, Lesson]]:
    """What each case has to say; of true outcomes it is kept, so that fitting needs no engine."""
    shelf = Shelf(given.world, given.seed, given.looks)
    true = shelf.cases(most, tables, given.keep)
    dice = random.Random(f"{given.seed}/false")
    told = [mistaken(c, dice, tables) if dice.random() < given.false else c for c in true]
    name = f"lessons-{given.world}-{given.seed}-{given.looks}.json"
    file = given.keep / name if given.keep else None
    known: dict[str, Lesson | None] = {}
    if file and file.exists():
        known = msgspec.json.decode(file.read_bytes(), type=dict[str, Lesson | None])
    same = {c.proved.case for c, t in zip(true, told, strict=True) if c.proved == t.proved}
    taught = [Taught(proved=case.proved, runs=case.runs) for case in told]
    new = [one for one in taught if one.proved.case not in known.keys() & same]
    said = pool.map(partial(lesson, knowledge=tables), new, chunksize=20)
    found = {one.proved.case: what for one, what in zip(new, said, strict=True)}
    if file:
        known |= {case: what for case, what in found.items() if case in same}
        file.write_bytes(msgspec.json.encode(known))
    every = ((one, (known | found)[one.proved.case]) for one in taught)
    return [(one, what) for one, what in every if what is not None]


def _given() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.simulation.learning")
    parser.add_argument("--cases", default="3,200", help="confirmed cases to learn from (3,200)")
    parser.add_argument("--scored", type=int, default=400, help="others to score on (400)")
    parser.add_argument("--seed", type=int, default=1, help="which cases (1)")
    parser.add_argument("--world", type=int, default=1, help="which world (1)")
    parser.add_argument("--looks", type=int, default=1, help="runs of each machine (1)")
    parser.add_argument("--false", type=float, default=0.0, help="share of false outcomes (0)")
    parser.add_argument("--workers", type=int, default=1, help="processes (1)")
    parser.add_argument(
        "--keep", type=Path, help="folder for what the tables say, of these sources only"
    )
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
