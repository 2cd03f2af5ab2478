"""Fault location: which component best explains all runs of a case, and what to do next.

Pure functions over records; nothing here reads a file or a clock. ``locate`` is the way in.
Read in this order: ``topology`` (what was where, what could be at fault, whom a check
accuses), ``observations`` (what each reading looked at), ``model.posterior`` (how likely each
set of faults is; ``model.likelihood``, ``permanent`` and ``intermittent`` weigh the readings),
``verdict``, ``steps.next_step``, ``explain``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.diagnosis import patterns, verdict
from livecheck.diagnosis.explain import explain
from livecheck.diagnosis.model import conflicts, priors
from livecheck.diagnosis.model.fault_modes import Ways
from livecheck.diagnosis.model.posterior import Posterior, posterior
from livecheck.diagnosis.model.windows import windows
from livecheck.diagnosis.observations import Observation, began, factors, observations
from livecheck.diagnosis.steps import next_step
from livecheck.diagnosis.steps.costs import Bench, opened
from livecheck.diagnosis.verdict import Verdict
from livecheck.records import Candidate, Knowledge, Location, Record, Remark, Run, Side
from livecheck.topology import swaps
from livecheck.topology.graph import Graph, build
from livecheck.topology.history import configurations
from livecheck.topology.ids import THE_SOFTWARE

_SHOWN: Final = 20
_WORTH_SHOWING: Final = 0.002


class Resources(Record, frozen=True, kw_only=True):
    """What a bench has for a case."""

    spares: tuple[str, ...] = ()
    """Identities of parts the shop vouches for, beside those the runs name."""
    cannot: tuple[str, ...] = ()
    """Actions ruled out: ``no spare: memory module``, ``re-flash firmware``."""


NOTHING_SPECIAL: Final = Resources()


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
    known = configurations(runs, frozenset(resources.spares))
    graph = build(known, knowledge)
    found = observations(runs, graph, knowledge)
    belief = _belief(graph, found, knowledge, max_faults)
    pattern = patterns.seen(runs, graph, knowledge)
    judged = verdict.judge(graph, belief, found, knowledge, pattern)
    changed = swaps.changes(known)
    bench = Bench(
        graph=graph,
        knowledge=knowledge,
        cannot=frozenset(resources.cannot),
        opened=opened(changed, knowledge),
    )
    steps = next_step.rank(bench, belief, judged, found) if runs else ()
    told = explain(graph, judged, found, knowledge, pattern)
    further = (*_without_priors(found, graph, knowledge), *_not_weighed(graph, knowledge))
    return Location(
        case=case_id,
        runs=len(runs),
        side=judged.side,
        component=_named(graph, judged),
        unit=_to_order(graph, judged),
        probability=judged.probability,
        sides=judged.sides,
        candidates=_candidates(graph, belief),
        next_step=steps[0] if steps else None,
        evidence=told.evidence,
        swaps=changed,
        sentence=told.sentence,
        explanation=(*told.explanation, *further),
        pattern=pattern.name,
        alternatives=tuple(steps[1:3]),
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
    graph: Graph, found: Sequence[Observation], knowledge: Knowledge, max_faults: int
) -> Posterior:
    complaint = graph.complaint
    weights = [priors.component_weight(one, knowledge, complaint) for one in graph.components]
    sizes = priors.by_size(knowledge.model, complaint, max_faults)
    software = graph.index.get(THE_SOFTWARE)
    weights = priors.with_software(weights, software, knowledge, complaint)
    rows = (knowledge.kinds.get(component.kind) for component in graph.components)
    modes = tuple(row.modes if row is not None else {} for row in rows)
    ways = Ways(modes, windows(graph, began(found, graph)))
    correlation = priors.correlation(knowledge.model)
    return posterior(factors(found), weights, sizes, correlation, ways)


def _without_priors(
    found: Sequence[Observation], graph: Graph, knowledge: Knowledge
) -> Iterator[str]:
    """The second view, which weighs nothing; silent when nothing failed."""
    seen = conflicts.view(conflicts.judged_checks(found, graph), max_size=2)
    if seen.conflicts:
        names = {str(component.id): component.name for component in graph.components}
        view = conflicts.sentence(seen, names.__getitem__, knowledge)
        yield knowledge.say("view.told", view=view)


def _not_weighed(graph: Graph, knowledge: Knowledge) -> Iterator[str]:
    """What a record of another version, or of another program, says and nobody understands."""
    runs = [one.run for one in graph.configurations]
    read = (reading.check for run in runs for reading in run.readings)
    unknown = sorted({check for check in read if check not in knowledge.checks})
    nowhere = sorted(
        {
            reading.at
            for one in graph.configurations
            for reading in one.run.readings
            if reading.of_run is None and not one.knows(reading.at)
        }
    )
    remarks = [f"{a.about}: {a.words}" for r in runs for a in r.answers if isinstance(a, Remark)]
    if unknown:
        yield knowledge.say("unknown.checks", names=", ".join(unknown))
    if nowhere:
        yield knowledge.say("unknown.places", names=", ".join(nowhere))
    if remarks:
        yield knowledge.say("unknown.answers", words="; ".join(remarks))


def _candidates(graph: Graph, belief: Posterior) -> tuple[Candidate, ...]:
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
        )
        for number in shown
    )
