"""Fault location: which component best explains all runs of a case, and what to do next.

Pure functions over records; nothing here reads a file or a clock. ``locate`` is the way in.
Read in this order: ``topology`` (what was where, what could be at fault, whom a check
accuses), ``observations`` (what each reading looked at), ``model.posterior`` (how likely each
set of faults is; ``model.likelihood``, ``permanent`` and ``intermittent`` weigh the readings),
``verdict``, ``steps.next_step``, ``explain``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import msgspec

from livecheck.diagnosis import further, patterns, verdict
from livecheck.diagnosis.explain import explain, locked
from livecheck.diagnosis.factors import factors
from livecheck.diagnosis.model import priors
from livecheck.diagnosis.model.fault_modes import Ways
from livecheck.diagnosis.model.posterior import Posterior, posterior
from livecheck.diagnosis.model.windows import windows
from livecheck.diagnosis.observations import COMPLAINT, Observation, observations
from livecheck.diagnosis.outlived import began
from livecheck.diagnosis.signs import for_complaint
from livecheck.diagnosis.steps import next_step
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.costs import Bench, opened
from livecheck.diagnosis.verdict import Verdict
from livecheck.diagnosis.worksheet_machine import all_along
from livecheck.records import (
    Candidate,
    Complaint,
    Knowledge,
    Location,
    NextStep,
    Record,
    Run,
    Side,
    Swap,
)
from livecheck.topology import swaps
from livecheck.topology.came_to_light import came_to_light
from livecheck.topology.foreign import set_aside
from livecheck.topology.graph import Graph, build
from livecheck.topology.history import configurations
from livecheck.topology.ids import THE_SOFTWARE
from livecheck.topology.missed import on_the_way, with_missed

_SHOWN: Final = 20
_WORTH_SHOWING: Final = 0.002


class Resources(Record, frozen=True, kw_only=True):
    """What a bench has for a case."""

    spares: tuple[str, ...] = ()
    """Identities of parts the shop vouches for, beside those the runs name."""
    cannot: tuple[str, ...] = ()
    """Actions ruled out: ``no spare: memory module``, ``re-flash firmware``."""
    hurt: bool = False
    """True: it fell, was spilled on or opened, so that it is looked into first."""
    sleeps: bool = False
    """True: it was told to show in or after sleep."""
    starts: bool = False
    """True: it was told to start only sometimes."""
    on_battery: bool = False
    """What is complained of shows on battery."""
    missed: tuple[str, ...] = ()
    """Kinds of part that the customer misses, by what was told."""
    rare: bool = False
    """True: it was told to show so seldom that no soak of hours is likely to meet it."""
    leans: tuple[tuple[str, Mapping[str, float]], ...] = ()
    """What was told of the complaint, and the factors on weights by kind that follow from it."""


NOTHING_SPECIAL: Final = Resources()


class Weighed(Record, frozen=True, kw_only=True):
    """How likely each set of faults of a case is, and of what."""

    bench: Bench
    found: tuple[Observation, ...]
    belief: Posterior
    changed: tuple[Swap, ...]
    """What was exchanged or put in anew from run to run."""


def weigh(
    runs: Sequence[Run],
    knowledge: Knowledge,
    resources: Resources = NOTHING_SPECIAL,
    max_faults: int = 2,
) -> Weighed:
    """The posterior of a case's own runs, of which there must be one, before any step is sought."""
    known = configurations(runs, frozenset(resources.spares))
    graph = build(known, knowledge)
    knowledge = for_complaint(knowledge, graph.complaint)
    found = observations(runs, graph, knowledge)
    changed = swaps.changes(known)
    bench = _bench(graph, knowledge, resources, opened(changed, knowledge))
    belief = _belief(bench, found, max_faults, on_the_way(graph, resources.missed))
    return Weighed(bench=bench, found=found, belief=belief, changed=changed)


def locate(
    case_id: str,
    runs: Sequence[Run],
    knowledge: Knowledge,
    resources: Resources = NOTHING_SPECIAL,
    max_faults: int = 2,
) -> Location:
    """The fault location from all runs of a case.

    ``max_faults``: largest set of simultaneous faults considered, 1 … 3.
    """
    runs, strange = set_aside(runs)
    if not runs:
        return _nothing_known(case_id, knowledge)
    runs = came_to_light(all_along(runs), knowledge)
    runs = with_missed(runs, resources.missed, knowledge)
    weighed = weigh(runs, knowledge, resources, max_faults)
    bench, found, belief = weighed.bench, weighed.found, weighed.belief
    graph, knowledge = bench.graph, bench.knowledge
    pattern = patterns.seen(runs, graph, knowledge)
    judged = verdict.judge(graph, belief, found, knowledge, pattern)
    steps = next_step.rank(bench, belief, judged, found)
    judged = _final(graph, judged, steps, knowledge)
    told = explain(graph, judged, found, knowledge, pattern)
    return Location(
        case=case_id,
        runs=len(runs),
        side=judged.side,
        component=_named(graph, judged),
        unit=_to_order(graph, judged),
        probability=judged.probability,
        sides=judged.sides,
        candidates=_candidates(graph, belief, judged),
        next_step=steps[0] if steps else None,
        evidence=told.evidence,
        swaps=weighed.changed,
        sentence=told.sentence,
        explanation=(*told.explanation, *_besides(weighed, strange, resources, judged)),
        pattern=pattern.name,
        alternatives=tuple(steps[1:3]),
        priors=knowledge.origin,
    )


def _besides(
    weighed: Weighed, strange: Sequence[int], resources: Resources, judged: Verdict
) -> Iterator[str]:
    bench, found = weighed.bench, weighed.found
    yield from further.told(bench, found, weighed.belief, strange, judged)
    yield from further.which_part(bench.graph, found, resources.missed, bench.knowledge)


def _final(
    graph: Graph, judged: Verdict, steps: Sequence[NextStep], knowledge: Knowledge
) -> Verdict:
    """The verdict, by what comes next; nobody looked at a system that nobody could read."""
    if not steps:
        judged = verdict.settled(judged, knowledge.model)
    elif steps[0].action == Action.REPAIR_SYSTEM:
        judged = verdict.of_the_system(judged)
    if locked(graph) is None or judged.side is not Side.SOFTWARE:
        return judged
    return msgspec.structs.replace(judged, side=Side.UNDETERMINED, group=None)


def _bench(
    graph: Graph, knowledge: Knowledge, resources: Resources, covers: frozenset[str]
) -> Bench:
    return Bench(
        graph=graph,
        knowledge=knowledge,
        cannot=frozenset(resources.cannot),
        opened=covers,
        hurt=resources.hurt,
        sleeps=resources.sleeps,
        starts=resources.starts,
        on_battery=resources.on_battery,
        rare=resources.rare,
        leans=resources.leans,
    )


def _nothing_known(case_id: str, knowledge: Knowledge) -> Location:
    """Of a case without a run."""
    none = priors.share(knowledge.model.no_fault, Complaint.INTAKE)
    sides = {side.value: 0.0 for side in Side}
    sides |= {Side.NO_FAULT.value: none, Side.UNDETERMINED.value: 1.0 - none}
    return Location(
        case=case_id,
        runs=0,
        side=Side.UNDETERMINED,
        component=None,
        unit=None,
        probability=0.0,
        sides=sides,
        candidates=(),
        next_step=None,
        evidence=(),
        swaps=(),
        sentence=knowledge.say("verdict.nothing-read"),
        priors=knowledge.origin,
    )


def _named(graph: Graph, judged: Verdict) -> str | None:
    """Id of the component that the verdict names."""
    return None if judged.group is None else str(graph.components[judged.group.lead].id)


def _to_order(graph: Graph, judged: Verdict) -> str | None:
    """Kind of the unit to order; None for a contact, what was cured, and the shop's own part."""
    if judged.group is None or judged.side is Side.UNDETERMINED:
        return None
    lead = graph.components[judged.group.lead]
    if judged.group.gone > 0.5 or any(lead.id in one.known_good for one in graph.home):
        return None
    return judged.group.unit


def _belief(
    bench: Bench, found: Sequence[Observation], max_faults: int, told: frozenset[int]
) -> Posterior:
    graph, knowledge = bench.graph, bench.knowledge
    complaint = graph.complaint
    weights = [priors.component_weight(one, knowledge, complaint) for one in graph.components]
    weights = priors.with_told(weights, told, knowledge.model)
    weights = [w * bench.has(one) for w, one in zip(weights, graph.components, strict=True)]
    sizes = priors.by_size(knowledge.model, complaint, max_faults)
    software = graph.index.get(THE_SOFTWARE)
    weights = priors.with_software(weights, software, knowledge, complaint)
    leaning = [priors.leaning(one, bench.leans) for one in graph.components]
    failed = [one for one in found if one.failed and not one.reading.check.startswith(COMPLAINT)]
    blamed = {number for one in failed for number, _ in one.members}
    # What the customer names may be missing though it answers, as one half of a card.
    answers = priors.answering(graph, knowledge.model, blamed | told)
    weights = [w * lean * own for w, lean, own in zip(weights, leaning, answers, strict=True)]
    rows = [knowledge.kinds.get(component.kind) for component in graph.components]
    modes = tuple(row.modes if row is not None else {} for row in rows)
    steady = frozenset(n for n, row in enumerate(rows) if row is not None and row.steady)
    unsafe = {n for one in failed if knowledge.checks[one.reading.check].unsafe
              for n, _ in one.members}  # fmt: skip
    apart = priors.apart(graph, knowledge.model, unsafe)
    ways = Ways(modes, windows(graph, began(found, graph)), apart, steady)
    correlation = priors.correlation(knowledge.model)
    return posterior(factors(found), weights, sizes, correlation, ways)


def _candidates(graph: Graph, belief: Posterior, judged: Verdict) -> tuple[Candidate, ...]:
    groups = {number: group for group in judged.groups for number in group.members}
    order = sorted(range(len(graph.components)), key=lambda number: -belief.marginals[number])
    shown = [n for n in order[:_SHOWN] if belief.marginals[n] >= _WORTH_SHOWING]
    return tuple(
        Candidate(
            component=str(graph.components[number].id),
            kind=graph.components[number].kind,
            unit=graph.components[number].unit,
            side=graph.components[number].side,
            probability=belief.marginals[number],
            name=graph.components[number].name,
            bears=groups[number].relevant,
            of_unit=groups[number].probability,
        )
        for number in shown
    )
