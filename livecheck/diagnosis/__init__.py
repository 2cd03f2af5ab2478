"""Fault location: which component best explains all runs of a case, and what to do next.

Pure functions over records; nothing here reads a file or a clock. ``locate`` is
the way in. Read in this order: ``fitting`` (what was where), ``components`` (what
could be at fault), ``blame`` (what each reading exercised), ``posterior`` (how
likely each set of faults is; ``likelihood``, ``steady`` and ``fitful`` weigh the
readings), ``verdict``, ``next_step``, ``explain``.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from livecheck.diagnosis import (
    blame,
    components,
    conflicts,
    explain,
    next_step,
    patterns,
    priors,
    swaps,
    verdict,
)
from livecheck.diagnosis.bench import Bench, opened
from livecheck.diagnosis.fitting import fittings
from livecheck.diagnosis.posterior import Posterior, posterior
from livecheck.records import Candidate, Knowledge, Location, Remark, Run, Side

_SHOWN = 20
_WORTH_SHOWING = 0.002


def locate(
    case_id: str,
    runs: Sequence[Run],
    knowledge: Knowledge,
    *,
    spares: Collection[str] = (),
    cannot: Collection[str] = (),
    max_faults: int = 2,
) -> Location:
    """The fault location from all runs of a case.

    ``spares``: identities of parts the shop vouches for. ``cannot``: actions this
    bench ruled out (``no spare: memory module``, ``re-flash firmware``).
    ``max_faults``: largest set of simultaneous faults considered, 1 … 3.
    """
    fitted = fittings(runs, frozenset(spares))
    complaint = priors.complaint_of(runs)
    graph = components.build(fitted, knowledge, complaint)
    found = blame.exercises(runs, graph, knowledge)
    belief = _belief(graph, found, knowledge, max_faults)
    pattern = patterns.seen(runs, graph, knowledge)
    judged = verdict.judge(graph, belief, found, knowledge, pattern)
    changed = swaps.changes(fitted)
    bench = Bench(
        graph=graph,
        knowledge=knowledge,
        cannot=frozenset(cannot),
        opened=opened(changed, knowledge),
    )
    steps = next_step.rank(bench, belief, judged, found) if runs else ()
    told = explain.tell(graph, judged, found, knowledge, pattern.trials, pattern.name)
    named = judged.group
    lead = graph.components[named.lead] if named is not None else None
    return Location(
        case=case_id,
        runs=len(runs),
        side=judged.side,
        component=lead.id if lead is not None else None,
        unit=_to_order(graph, judged),
        probability=judged.probability,
        sides=judged.sides,
        candidates=_candidates(graph, belief),
        next_step=steps[0] if steps else None,
        evidence=told.evidence,
        swaps=changed,
        sentence=told.sentence,
        explanation=(
            *told.explanation,
            *_without_priors(found, graph, knowledge),
            *_not_weighed(runs, knowledge),
        ),
        pattern=pattern.name,
        alternatives=tuple(steps[1:3]),
        priors=knowledge.origin,
    )


def _to_order(graph: components.Graph, judged: verdict.Verdict) -> str | None:
    """Kind of the unit to order; None where nothing is: a contact, or what was cured."""
    if judged.group is None or judged.side is Side.UNDETERMINED:
        return None
    if components.cured(graph, graph.components[judged.group.lead]):
        return None
    return judged.group.unit


def _belief(
    graph: components.Graph,
    found: Sequence[blame.Exercise],
    knowledge: Knowledge,
    max_faults: int,
) -> Posterior:
    weights = [component.weight for component in graph.components]
    sizes = priors.by_size(knowledge.model, graph.complaint, max_faults)
    software = graph.index.get(components.SOFTWARE)
    weights = priors.with_software(weights, software, knowledge, graph.complaint)
    modes = components.modes(graph, knowledge)
    return posterior(blame.factors(found), weights, sizes, priors.trust(knowledge.model), modes)


def _without_priors(
    found: Sequence[blame.Exercise], graph: components.Graph, knowledge: Knowledge
) -> tuple[str, ...]:
    """The second view, which weighs nothing; silent when nothing failed."""
    seen = conflicts.view(conflicts.observations(found, graph), max_size=2)
    if not seen.conflicts:
        return ()
    told = conflicts.sentence(seen, lambda own: graph.at(own).name, knowledge)
    return (knowledge.say("view.told", view=told),)


def _not_weighed(runs: Sequence[Run], knowledge: Knowledge) -> tuple[str, ...]:
    """What a record of another version, or of another program, says and nobody understands."""
    read = (reading.check for run in runs for reading in run.readings)
    unknown = sorted({check for check in read if check not in knowledge.checks})
    remarks = [f"{a.about}: {a.words}" for r in runs for a in r.answers if isinstance(a, Remark)]
    told = []
    if unknown:
        told.append(knowledge.say("unknown.checks", names=", ".join(unknown)))
    if remarks:
        told.append(knowledge.say("unknown.answers", words="; ".join(remarks)))
    return tuple(told)


def _candidates(graph: components.Graph, belief: Posterior) -> tuple[Candidate, ...]:
    order = sorted(range(len(graph.components)), key=lambda number: -belief.marginals[number])
    shown = [n for n in order[:_SHOWN] if belief.marginals[n] >= _WORTH_SHOWING]
    return tuple(
        Candidate(
            component=graph.components[number].id,
            kind=graph.components[number].kind,
            unit=graph.components[number].unit,
            side=graph.components[number].side,
            probability=belief.marginals[number],
            name=graph.components[number].name,
        )
        for number in shown
    )
