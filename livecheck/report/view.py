"""The whole report as plain values: records in, words out, no markup."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.partssheet import Sheet, sheets
from livecheck.records import (
    Candidate,
    Case,
    Caution,
    Evidence,
    Knowledge,
    Learned,
    Location,
    NextStep,
    Outcome,
    Run,
    Side,
)
from livecheck.report.answers import told
from livecheck.report.courses import Meters, meters
from livecheck.report.faults import (
    NEVER_ORDERED,
    SURE,
    WORTH_A_CARD,
    Fault,
    Finding,
    Section,
    contacts,
    findings,
    section,
    sides,
)
from livecheck.report.handover import SignOff, sign_off
from livecheck.report.names import Named, Names
from livecheck.report.storage import Drive, drives
from livecheck.report.swaptable import SwapTable, swap_table
from livecheck.report.tables import Group, Missed, PartRow, identity, not_tested, parts, readings
from livecheck.report.tree import Node, path_tree
from livecheck.wording import (
    SAYS_LITTLE,
    count,
    kind_title,
    minutes,
    moment,
    numbers,
    quantity,
    question,
    text,
    title,
)

MOST_SUSPECTS: Final = 6
MOST_LEARNED: Final = 8
SIDES: Final = (Side.DEVICE, Side.CONTROLLER, Side.SOFTWARE, Side.UNDETERMINED, Side.NO_FAULT)
"""In the order they are drawn; in shares, undetermined stands for contacts."""


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """A next step in words."""

    action: str
    target: str
    time: str
    why: str
    outcomes: tuple[tuple[str, float, str], ...]
    """What may come out, how probable that is, what it would mean."""
    cautions: tuple[Caution, ...]


class Also(msgspec.Struct, frozen=True, kw_only=True):
    """A second fault beside the verdict's."""

    component: Named
    side: Side
    unit: str
    probability: float


class Verdict(msgspec.Struct, frozen=True, kw_only=True):
    """What is wrong and what to do: the first screen."""

    side: Side
    sentence: str
    explanation: tuple[str, ...]
    meaning: str
    probability: float | None
    """None: nothing was judged or determined, so a figure would say nothing."""
    component: Named | None
    unit: str | None
    orders: tuple[str, ...]
    """Units to order, the verdict's first."""
    also: tuple[Also, ...]
    suspects: tuple[Also, ...]
    """While nothing is determined: what it could be, likeliest first."""
    sides: tuple[tuple[Side, float], ...]
    step: Step | None
    no_step: str
    """What to do when no further step is proposed."""
    alternatives: tuple[Step, ...]
    pattern: str | None


class EvidenceRow(msgspec.Struct, frozen=True, kw_only=True):
    """One reading that bears on the verdict."""

    run: int
    question: str
    check: str
    at: Named
    outcome: Outcome
    says: str
    weight: float


class Aside(msgspec.Struct, frozen=True, kw_only=True):
    """A reading that says little, or the same one of several runs."""

    runs: str
    question: str
    at: Named
    outcome: Outcome


class RunRow(msgspec.Struct, frozen=True, kw_only=True):
    """How one run was made."""

    number: int
    started: str
    complaint: str
    depth: str
    seconds: str
    rights: str
    kernel: str | None
    program: str | None
    notes: tuple[str, ...]


class Page(msgspec.Struct, frozen=True, kw_only=True):
    """Everything the template shows."""

    case: Case
    machine: str
    complaint: str
    latest: str
    verdict: Verdict
    device: Section
    controller: Section
    contacts: tuple[Fault, ...]
    software: tuple[Finding, ...]
    swaps: SwapTable
    evidence: tuple[EvidenceRow, ...]
    """What says something, by wording.SAYS_LITTLE."""
    asides: tuple[Aside, ...]
    """The other readings that were weighed."""
    tree: Node | None
    drives: tuple[Drive, ...]
    meters: Meters
    sheets: tuple[Sheet, ...]
    learned: tuple[tuple[str, Learned], ...]
    """Kinds whose prior the shop's outcomes moved, most moved first."""
    readings: tuple[Group, ...]
    missed: tuple[Missed, ...]
    closed: str | None
    identity: tuple[tuple[str, tuple[tuple[str, str | None], ...]], ...]
    parts: tuple[PartRow, ...]
    runs: tuple[RunRow, ...]
    answers: tuple[tuple[int, str, str], ...]
    damaged: tuple[str, ...]
    sign_off: SignOff | None
    priors: str
    origin: str
    cautions: tuple[Caution, ...]
    judged: int


def page(
    case: Case,
    runs: Sequence[Run],
    location: Location,
    knowledge: Knowledge,
    damaged: Sequence[str] = (),
) -> Page:
    """The report of a case. Pure; the runs may be none, empty, unfinished or many."""
    ordered = sorted(runs, key=lambda run: run.number)
    names = Names(ordered, knowledge)
    judged = sum(r.outcome is not Outcome.NOT_JUDGED for run in ordered for r in run.readings)
    verdict = _verdict(location, names, knowledge, judged)
    local = [run for run in ordered if not run.elsewhere]
    machine = local[-1].inventory.machine if local else case.machine
    if machine == type(machine)():
        machine = case.machine
    return Page(
        case=case,
        machine=machine.named or text("identity.nameless"),
        complaint=title(case.complaint),
        latest=moment(ordered[-1].started if ordered else case.opened),
        verdict=verdict,
        device=section(Side.DEVICE, ordered, location, names, knowledge),
        controller=section(Side.CONTROLLER, ordered, location, names, knowledge),
        contacts=contacts(ordered, location, names, knowledge),
        software=_software(ordered, names, knowledge),
        swaps=swap_table(ordered, location, names),
        evidence=tuple(
            _evidence(e, names, knowledge)
            for e in location.evidence
            if abs(e.weight) >= SAYS_LITTLE
        ),
        asides=_asides(location.evidence, names, knowledge),
        tree=path_tree(ordered, location, names),
        drives=drives(ordered, names, knowledge),
        meters=meters(ordered),
        sheets=sheets(case, ordered, location, knowledge),
        learned=_learned(knowledge),
        readings=readings(ordered, names, knowledge),
        missed=not_tested(ordered, names, knowledge),
        closed=moment(case.closed) if case.closed else None,
        identity=identity(machine),
        parts=parts(ordered, names),
        runs=tuple(_run(run, names) for run in ordered),
        answers=tuple((r.number, *told(a, names)) for r in ordered for a in r.answers),
        damaged=tuple(damaged),
        sign_off=sign_off(ordered, names, knowledge),
        priors=location.priors,
        origin=knowledge.origin,
        cautions=_cautions(location, knowledge),
        judged=judged,
    )  # fmt: skip


def _verdict(location: Location, names: Names, knowledge: Knowledge, judged: int) -> Verdict:
    component = names.of(location.component) if location.component else None
    unit = kind_title(location.unit, knowledge) if location.unit else None
    also = [
        c
        for c in location.candidates
        if c.probability >= 0.5 and location.component and c.component != location.component
    ]
    undecided = location.side is Side.UNDETERMINED
    open_ones = sorted(
        (c for c in location.candidates if undecided and c.probability >= WORTH_A_CARD),
        key=lambda c: -c.probability,
    )
    return Verdict(
        side=location.side,
        sentence=location.sentence or _sentence(location, component, unit),
        explanation=location.explanation,
        meaning=text(f"meaning.{_open(location, judged)}"),
        probability=location.probability if judged and not undecided else None,
        component=component,
        unit=unit,
        orders=_orders(location, also, knowledge),
        also=tuple(_also(c, names, knowledge) for c in also),
        suspects=tuple(_also(c, names, knowledge) for c in open_ones[:MOST_SUSPECTS]),
        sides=tuple(
            (side, location.sides[side.value])
            for side in SIDES
            if side.value in location.sides
        ),
        step=_step(location.next_step, names, knowledge) if location.next_step else None,
        no_step=_no_step(location, unit, judged),
        alternatives=tuple(_step(s, names, knowledge) for s in location.alternatives),
        pattern=location.pattern,
    )  # fmt: skip


def _orders(location: Location, also: Sequence[Candidate], knowledge: Knowledge) -> tuple[str, ...]:
    units = [location.unit, *(c.unit for c in also if c.probability >= SURE)]
    bought = dict.fromkeys(u for u in units if u and u not in NEVER_ORDERED)
    return tuple(kind_title(unit, knowledge) for unit in bought)


def _sentence(location: Location, component: Named | None, unit: str | None) -> str:
    if component and unit:
        return text("verdict.component", component=component.label, unit=unit)
    return text(f"verdict.{location.side.value}")


def _open(location: Location, judged: int) -> str:
    """The side, or why there is none: nothing was judged, or nothing failed and no step is left."""
    if not judged:
        return "nothing-judged"
    failed = any(one.outcome is Outcome.FAILED for one in location.evidence)
    if location.side is Side.UNDETERMINED and not failed and location.next_step is None:
        return "none-failed"
    return location.side.value


def _no_step(location: Location, unit: str | None, judged: int) -> str:
    if location.unit in NEVER_ORDERED and location.unit == "contact":
        return text("no-step.contact")
    return text(f"no-step.{_open(location, judged)}", unit=unit or text("no-step.unit"))


def _also(candidate: Candidate, names: Names, knowledge: Knowledge) -> Also:
    return Also(
        component=names.of(candidate.component, candidate.name, candidate.kind),
        side=candidate.side,
        unit=kind_title(candidate.unit, knowledge),
        probability=candidate.probability,
    )


def _step(step: NextStep, names: Names, knowledge: Knowledge) -> Step:
    return Step(
        action=step.action,
        target=names.target(step.target),
        time=minutes(step.minutes),
        why=step.why,
        outcomes=tuple((o.result, o.probability, o.means) for o in step.outcomes),
        cautions=tuple(_caution(name, knowledge) for name in step.cautions),
    )


def _caution(name: str, knowledge: Knowledge) -> Caution:
    known = knowledge.cautions.get(name)
    # A name without a text is still a warning, so it is shown rather than dropped.
    return known or Caution(name=name, text=text("cautions.unknown", name=name), source="")


def _learned(knowledge: Knowledge) -> tuple[tuple[str, Learned], ...]:
    rows = sorted(knowledge.learned, key=lambda row: -abs(row.factor - 1.0))
    return tuple((kind_title(row.kind, knowledge), row) for row in rows[:MOST_LEARNED])


def _cautions(location: Location, knowledge: Knowledge) -> tuple[Caution, ...]:
    steps = [s for s in (location.next_step, *location.alternatives) if s]
    wanted = dict.fromkeys(name for step in steps for name in step.cautions)
    return tuple(_caution(name, knowledge) for name in wanted)


def _evidence(evidence: Evidence, names: Names, knowledge: Knowledge) -> EvidenceRow:
    return EvidenceRow(
        run=evidence.run,
        question=question(evidence.check, knowledge),
        check=evidence.check,
        at=names.of(evidence.at),
        outcome=evidence.outcome,
        says=evidence.says,
        weight=evidence.weight,
    )


def _asides(evidence: Sequence[Evidence], names: Names, knowledge: Knowledge) -> tuple[Aside, ...]:
    merged: dict[tuple[str, str, Outcome], list[int]] = {}
    for e in evidence:
        if abs(e.weight) < SAYS_LITTLE:
            merged.setdefault((e.check, e.at, e.outcome), []).append(e.run)
    return tuple(
        Aside(
            runs=numbers(found),
            question=question(check, knowledge),
            at=names.of(at),
            outcome=outcome,
        )
        for (check, at, outcome), found in merged.items()
    )


def _software(runs: Sequence[Run], names: Names, knowledge: Knowledge) -> tuple[Finding, ...]:
    """Failed readings that only the installed system can cause."""
    return findings(
        (
            (run, reading)
            for run in runs
            for reading in run.readings
            if reading.outcome is Outcome.FAILED
            and sides(reading, names, knowledge) == {Side.SOFTWARE}
        ),
        names,
        knowledge,
    )


def _run(run: Run, names: Names) -> RunRow:
    notes = []
    if run.elsewhere:
        notes.append(text("run.elsewhere"))
    if not run.finished:
        notes.append(text("run.unfinished"))
    if run.reseated:
        places = ", ".join(names.of(place).label for place in run.reseated)
        notes.append(text("run.reseated", places=places))
    if run.known_good:
        notes.append(count("run.known-good", len(run.known_good), parts=", ".join(run.known_good)))
    return RunRow(
        number=run.number,
        started=moment(run.started),
        complaint=title(run.complaint),
        depth=run.depth,
        seconds=quantity(run.seconds, "s"),
        rights=text("run.root" if run.as_root else "run.user"),
        kernel=run.kernel,
        program=run.program,
        notes=tuple(notes),
    )
