"""What a machine's checks cannot tell apart: ambiguity groups, and what would part them.

From the tables and what a run looked at alone, before anything failed. Two faults are told
apart when one more run is expected to weigh at least ``TOLD_APART`` in favour of the true one:
the Kullback-Leibler divergence of what each makes fail, the mean of both ways. Checks of one
symptom group repeat each other and count once. The dependency matrix and its ambiguity groups
are those of IEEE Std 1232 and MIL-HDBK-2165, from memory.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from math import log
from typing import Final

from livecheck.diagnosis.model import priors
from livecheck.diagnosis.observations import COMPLAINT
from livecheck.diagnosis.signs import for_complaint
from livecheck.records import Check, Complaint, Knowledge, Outcome, Reading, Record, Run, Side
from livecheck.records.tables import HISTORY
from livecheck.topology.blame import Accusations
from livecheck.topology.graph import Component, Graph, build
from livecheck.topology.history import configurations

TOLD_APART: Final = log(3.0)
"""Assumed: expected odds of 3 to 1 by one run part two faults."""
_COMES_BY_ITSELF: Final = (HISTORY, COMPLAINT, "ended.")
"""First words of checks that nobody can make on purpose."""
_MANY: Final = 3
"""Assumed: so many checks are named that would part a group."""

Point = tuple[str, str]
"""(Check, where it is made)."""
Column = Mapping[str, tuple[str, float]]
"""Test point -> (symptom group, chance that it fails) with one component at fault."""


class AmbiguityGroup(Record, frozen=True, kw_only=True):
    """Components whose faults one run of what was looked at does not tell apart."""

    names: tuple[str, ...]
    units: tuple[str, ...]
    """What would be ordered for each of them, once."""
    share: float
    """Prior probability under the complaint that the fault is in it."""
    swaps: tuple[str, ...]
    """Names of parts whose swap with a known-good one parts them from the rest."""
    left: tuple[str, ...]
    """Units that no swap parts."""
    checks: tuple[str, ...]
    """Checks not made yet that would part some of them, the best first."""


def ambiguity_groups(
    run: Run, complaint: Complaint, knowledge: Knowledge
) -> tuple[AmbiguityGroup, ...]:
    """The groups of more than one unit to order, the likeliest first.

    ``run``: what was looked at, whatever came of it.
    """
    known = configurations([run], frozenset())
    graph = build(known, knowledge)
    tables = for_complaint(knowledge, complaint)
    accusations = Accusations(graph, tables.checks)
    made = {(one.check, one.at) for one in run.readings if one.outcome is not Outcome.NOT_JUDGED}
    columns = _columns(sorted(made), run.number, accusations, graph, tables)
    open_points = _open(complaint, made, tables)
    weights = [priors.component_weight(one, tables, complaint) for one in graph.components]
    whole = sum(weights)
    found = []
    for group in _groups(columns, weights):
        if len(units := dict.fromkeys(graph.components[n].unit for n in group)) < 2:
            continue
        members = [graph.components[n] for n in group]
        swapped = [one for one in members if one.side is Side.DEVICE and not one.external]
        rest = (one.unit for one in members if one not in swapped)
        found.append(
            AmbiguityGroup(
                names=tuple(one.name for one in members),
                units=tuple(units),
                share=sum(weights[n] for n in group) / whole,
                swaps=tuple(one.name for one in swapped),
                left=tuple(dict.fromkeys(rest)),
                checks=_parting(members, open_points, run.number, accusations, tables),
            )
        )
    return tuple(sorted(found, key=lambda group: -group.share))


def _open(complaint: Complaint, made: AbstractSet[Point], tables: Knowledge) -> list[Point]:
    """Checks not made that may be proposed: at the machine, or where its subject was looked at."""
    looked = {at for _, at in made}
    names = {check for check, _ in made}
    return [
        (name, at)
        for name, row in sorted(tables.checks.items())
        if name not in names
        and not name.startswith(_COMES_BY_ITSELF)
        and (not row.complaints or complaint in row.complaints)
        for at in ("machine", *sorted(looked))
        if at == "machine" or any(c.split(".")[0] == name.split(".")[0] for c, a in made if a == at)
    ]


def _columns(
    points: Sequence[Point],
    run: int,
    accusations: Accusations,
    graph: Graph,
    tables: Knowledge,
) -> list[dict[str, tuple[str, float]]]:
    """The dependency matrix, by component."""
    columns: list[dict[str, tuple[str, float]]] = [{} for _ in graph.components]
    for check, at in points:
        row = tables.checks.get(check)
        if row is None:
            continue
        reading = Reading(check=check, at=at, outcome=Outcome.FAILED)
        detects = {graph.index[own]: chance for own, chance in accusations.of(run, reading)}
        for number, column in enumerate(columns):
            chance = _fails(row, detects.get(number, 0.0))
            column[f"{check} {at}"] = (row.symptom_group or check, chance)
    return columns


def _fails(row: Check, detect: float) -> float:
    """Chance that a check fails with one fault there, which shows with ``detect``."""
    return 1.0 - (1.0 - row.false_alarm) * (1.0 - detect)


def _groups(columns: Sequence[Column], weights: Sequence[float]) -> list[list[int]]:
    """Each component with those that no run parts from it; in a group none is parted."""
    groups: list[list[int]] = []
    for number in sorted(range(len(columns)), key=lambda n: -weights[n]):
        for group in groups:
            if all(_apart(columns[number], columns[other]) < TOLD_APART for other in group):
                group.append(number)
                break
        else:
            groups.append([number])
    return groups


def _apart(one: Column, other: Column) -> float:
    """Expected natural log of the odds by which a run parts two faults."""
    best: dict[str, float] = {}
    for point, (symptom_group, p) in one.items():
        q = other[point][1]
        if p != q:
            told = (p - q) * (log(p / q) - log((1.0 - p) / (1.0 - q))) / 2.0
            best[symptom_group] = max(best.get(symptom_group, 0.0), told)
    return sum(best.values())


def _parting(
    members: Sequence[Component],
    points: Sequence[Point],
    run: int,
    accusations: Accusations,
    tables: Knowledge,
) -> tuple[str, ...]:
    """Of these checks those that part two members best."""
    told: dict[str, float] = {}
    for check, at in points:
        reading = Reading(check=check, at=at, outcome=Outcome.FAILED)
        detects, row = dict(accusations.of(run, reading)), tables.checks[check]
        fails = [_fails(row, detects.get(one.id, 0.0)) for one in members]
        low, high = ({check: (check, chance)} for chance in (min(fails), max(fails)))
        told[check] = max(told.get(check, 0.0), _apart(low, high))
    best = sorted(told.items(), key=lambda one: -one[1])[:_MANY]
    return tuple(check for check, value in best if value >= TOLD_APART / 2)
