"""The two sections that must never be mixed: device faults and controller faults."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import msgspec

from livecheck.names import Named, Names
from livecheck.partssheet.sheet import NEVER_ORDERED, SURE
from livecheck.records import Candidate, Knowledge, Location, Outcome, Reading, Run, Side
from livecheck.wording import count, kind_title, numbers, question, text

WORTH_A_CARD = 0.05
WORTH_A_LINE = 0.005
MOST_LINES = 4


class ReadingInRuns(msgspec.Struct, frozen=True, kw_only=True):
    """The same reading in one or more runs."""

    check: str
    question: str
    at: Named
    says: str
    runs: str
    outcome: Outcome
    weight: float | None = None


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """One component that may be at fault, with what speaks for it and against it."""

    component: Named
    where: str
    """The path above it, in words."""
    unit: str
    """Title of the unit to order."""
    mend: bool
    """True: the unit is put right, not bought."""
    probability: float
    likely: bool
    findings: tuple[ReadingInRuns, ...]
    more: int
    """Findings that had no room."""
    against: tuple[ReadingInRuns, ...]


class Section(msgspec.Struct, frozen=True, kw_only=True):
    """All that is known of one side."""

    side: Side
    state: str
    """``found``, ``possible``, ``explained``, ``open``, ``clear`` or ``untested``."""
    headline: str
    faults: tuple[Fault, ...]
    unlikely: tuple[Fault, ...]
    failed: tuple[ReadingInRuns, ...]
    """Failed readings that could come from this side, beyond those on the cards."""
    untested: tuple[Named, ...]


def findings(
    readings: Iterable[tuple[Run, Reading]],
    names: Names,
    knowledge: Knowledge,
    weights: dict[tuple[int, str, str], float] | None = None,
) -> tuple[ReadingInRuns, ...]:
    """Readings that say the same in several runs become one finding, in order of appearance."""
    merged: dict[tuple[str, str, Outcome, str], list[Run]] = {}
    for run, reading in readings:
        key = (reading.check, reading.at, reading.outcome, reading.says)
        merged.setdefault(key, []).append(run)
    made = []
    for (check, at, outcome, says), found in merged.items():
        known = [w for r in found if (w := (weights or {}).get((r.number, check, at))) is not None]
        made.append(
            ReadingInRuns(
                check=check,
                question=question(check, knowledge),
                at=names.of(at),
                says=says,
                runs=numbers(r.number for r in found),
                outcome=outcome,
                weight=sum(known) if known else None,
            )
        )
    return tuple(made)


def section(side: Side, runs: Sequence[Run], location: Location, names: Names,
            knowledge: Knowledge) -> Section:  # fmt: skip
    """The section of one side, from candidates and readings."""
    ours = [c for c in location.candidates if c.side is side and c.probability >= WORTH_A_LINE]
    ours.sort(key=lambda c: -c.probability)
    made = [_fault(c, runs, location, names, knowledge) for c in ours]
    cards = tuple(f for f in made if f.probability >= WORTH_A_CARD)
    accused = ((r, reading) for r, reading in _failed(runs) if side in sides(r, reading, names))
    failed = findings(accused, names, knowledge)
    shown = {(f.check, f.at.id, f.says) for card in cards for f in card.findings}
    rest = tuple(f for f in failed if (f.check, f.at.id, f.says) not in shown)
    tested, untested = _tested(side, runs, names)
    passed = sum(
        reading.outcome is Outcome.PASSED and names.of(reading.at).side is side
        for run in runs
        for reading in run.readings
    )
    explained = any(
        c.probability >= WORTH_A_CARD for c in location.candidates if c.side is not side
    )
    state = _state(cards, rest, explained, passed)
    return Section(
        side=side,
        state=state,
        headline=_headline(side, state, len(rest), passed, len(tested)),
        faults=cards,
        unlikely=tuple(f for f in made if f.probability < WORTH_A_CARD),
        failed=rest,
        untested=untested,
    )


def contacts(
    runs: Sequence[Run], location: Location, names: Names, knowledge: Knowledge
) -> tuple[Fault, ...]:
    """Contacts between part and place that may be at fault: neither side's."""
    return tuple(
        _fault(c, runs, location, names, knowledge)
        for c in sorted(location.candidates, key=lambda c: -c.probability)
        if c.side is Side.UNDETERMINED and c.probability >= WORTH_A_CARD
    )


def _state(
    cards: Sequence[Fault], rest: Sequence[ReadingInRuns], explained: bool, passed: int
) -> str:
    if cards:
        return "found" if any(c.likely for c in cards) else "possible"
    if rest:
        return "explained" if explained else "open"
    return "clear" if passed else "untested"


def _headline(side: Side, state: str, failed: int, passed: int, parts: int) -> str:
    key = f"faults.{side.value}.{state}"
    if state in ("explained", "open"):
        return count(key, failed)
    if state == "clear":
        return text(
            key, checks=count("count.checks", passed), components=count("count.components", parts)
        )
    return text(key)


def _fault(candidate: Candidate, runs: Sequence[Run], location: Location, names: Names,
           knowledge: Knowledge) -> Fault:  # fmt: skip
    named = names.of(candidate.component, candidate.name, candidate.kind)
    weights: dict[tuple[int, str, str], float] = {}
    if candidate.component == location.component:
        weights = {(e.run, e.check, e.at): e.weight for e in location.evidence}
    decided = candidate.component == location.component and location.side is not Side.UNDETERMINED
    speaks = findings(accusing(candidate.component, runs, names), names, knowledge, weights)
    against = findings(
        (
            (run, reading)
            for run in runs
            for reading in run.readings
            if weights.get((run.number, reading.check, reading.at), 0.0) <= -1
        ),
        names, knowledge, weights,
    )  # fmt: skip
    return Fault(
        component=named,
        where=" › ".join(n.label for n in reversed(names.path(named.id)[1:])),
        unit=kind_title(candidate.unit, knowledge),
        mend=candidate.unit in NEVER_ORDERED,
        probability=candidate.probability,
        likely=decided or candidate.probability >= SURE,
        findings=speaks[:MOST_LINES],
        more=max(0, len(speaks) - MOST_LINES),
        against=against[:MOST_LINES],
    )


def accusing(component: str, runs: Sequence[Run], names: Names) -> Iterator[tuple[Run, Reading]]:
    """The failed readings that a fault in a component would explain."""
    for run, reading in _failed(runs):
        if any(str(one.id) == component for one in names.accused(run, reading)):
            yield run, reading


def _failed(runs: Sequence[Run]) -> Iterator[tuple[Run, Reading]]:
    for run in runs:
        for reading in run.readings:
            if reading.outcome is Outcome.FAILED:
                yield run, reading


def sides(run: Run, reading: Reading, names: Names) -> frozenset[Side]:
    """The sides a failed reading can come from; of a check in no table, where it was taken."""
    accused = {component.side for component in names.accused(run, reading)}
    taken_at = names.of(reading.at).side
    if not accused and taken_at is not None:
        accused.add(taken_at)
    return frozenset(accused)


def _tested(
    side: Side, runs: Sequence[Run], names: Names
) -> tuple[tuple[Named, ...], tuple[Named, ...]]:
    """Components of a side with a judged reading in any run, and those of the last without."""
    judged = {
        reading.at
        for run in runs
        for reading in run.readings
        if reading.outcome is not Outcome.NOT_JUDGED
    }
    tested = tuple(n for n in map(names.of, sorted(judged)) if n.side is side)
    here = [run for run in runs if not run.in_known_good_machine][-1:]
    # A place is tested through the part in it, so it is not listed on its own.
    rows = [c.id for run in here for c in run.inventory.controllers]
    rows += [p.id for run in here for p in run.inventory.parts]
    untested = {n.label: n for n in map(names.of, rows) if n.side is side and n.id not in judged}
    return tested, tuple(untested.values())
