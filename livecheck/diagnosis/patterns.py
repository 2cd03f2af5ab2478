"""The four swap patterns by name: what a technician sees without any arithmetic.

Standard swap reasoning with two parts D1, D2 and two places P1, P2: the tables
"no exoneration" and "with exoneration" of swap experiments.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from livecheck.records import Knowledge, Outcome, Record, Run
from livecheck.topology.blame import several_roles
from livecheck.topology.graph import Graph
from livecheck.topology.ids import ComponentId

FOLLOWS: Final = "fault follows the part"
STAYS: Final = "fault stays with the place"
VANISHES: Final = "contact or intermittent"
COMMON: Final = "common cause upstream"

TELLING: Final = 0.1
"""Checks that fail more often than this on sound machines show no pattern (assumed)."""


class SwapTrial(NamedTuple):
    """One part in one place, in one run."""

    part: ComponentId
    place: ComponentId
    failed: bool
    treated: int = 0
    """How often the part had been cleaned or repaired: another one since, as to its faults."""


_Who = tuple[ComponentId, int]


def name(trials: Sequence[SwapTrial]) -> str | None:
    """The pattern of trials of one check in order of runs; None: too little was swapped."""
    failed = {((one.part, one.treated), one.place) for one in trials if one.failed}
    passed = {((one.part, one.treated), one.place) for one in trials if not one.failed}
    if not failed:
        return None
    if _vanished(trials):
        return VANISHES
    for part, place in sorted(failed, key=_text):
        other_parts_here = {d for d, p in passed if p == place and d != part}
        elsewhere_failed = {p for d, p in failed if d == part and p != place}
        others_failed_here = {d for d, p in failed if p == place and d[0] != part[0]}
        elsewhere_passed = {p for d, p in passed if d == part and p != place}
        if others_failed_here and elsewhere_failed and not passed:
            return COMMON
        if others_failed_here and elsewhere_passed:
            return STAYS
        if other_parts_here and elsewhere_failed:
            return FOLLOWS
    return _one_sided(failed, passed)


def _one_sided(
    failed: set[tuple[_Who, ComponentId]], passed: set[tuple[_Who, ComponentId]]
) -> str | None:
    """The weaker forms, where only part or only place was changed."""
    for part, place in sorted(failed, key=_text):
        if (part, place) in passed:
            continue
        if any(p == place and d[0] != part[0] for d, p in failed) and not passed:
            return STAYS
        swapped_well = any(p == place and d != part for d, p in passed)
        moved_well = any(d == part and p != place for d, p in passed)
        if swapped_well and not moved_well:
            return FOLLOWS
        if moved_well and not swapped_well:
            return STAYS
    return None


def _text(trial: tuple[_Who, ComponentId]) -> tuple[str, int, str]:
    (part, treated), place = trial
    return str(part), treated, str(place)


def _vanished(trials: Sequence[SwapTrial]) -> bool:
    """Failed once; then both swaps passed, or the very same part in the same place did."""
    rows = [((one.part, one.treated), one.place, one.failed) for one in trials]
    for number, (part, place, bad) in enumerate(rows):
        if not bad:
            continue
        later = rows[number + 1 :]
        if any(again for d, p, again in later if d == part or p == place):
            continue
        same = any(d == part and p == place for d, p, _ in later)
        other_part = any(p == place and d != part for d, p, _ in later)
        other_place = any(d == part and p != place for d, p, _ in later)
        if same or (other_part and other_place):
            return True
    return False


class PatternSeen(Record, frozen=True, kw_only=True):
    """A pattern, and the check and trials that show it."""

    name: str | None = None
    check: str | None = None
    trials: tuple[SwapTrial, ...] = ()


def seen(runs: Sequence[Run], graph: Graph, knowledge: Knowledge) -> PatternSeen:
    """The pattern of the check that failed most often at parts and places."""
    trials = by_check(runs, graph, knowledge)
    ranked = sorted(trials, key=lambda check: (-sum(bad for *_, bad in trials[check]), check))
    for check in ranked:
        found = name(trials[check])
        if found is not None:
            return PatternSeen(name=found, check=check, trials=tuple(trials[check]))
    return PatternSeen()


def by_check(runs: Sequence[Run], graph: Graph, knowledge: Knowledge) -> dict[str, list[SwapTrial]]:
    """Trials of every check that could blame part and place alike, in order of runs."""
    found: dict[str, list[SwapTrial]] = {}
    by_number = {one.run.number: one for one in graph.configurations}
    for run in sorted(runs, key=lambda run: run.number):
        now = by_number[run.number]
        for reading in run.readings:
            check = knowledge.checks.get(reading.check)
            if check is None or reading.outcome is Outcome.NOT_JUDGED:
                continue
            if check.false_alarm > TELLING:
                # A part carries its old counts from place to place: no sign of this run.
                continue
            part = now.test_point(reading.at)
            place = now.home(part)
            if place is not None and several_roles(check):
                failed = reading.outcome is Outcome.FAILED
                trial = SwapTrial(part, now.on_board(place), failed, now.treated.get(part, 0))
                found.setdefault(reading.check, []).append(trial)
    return found
