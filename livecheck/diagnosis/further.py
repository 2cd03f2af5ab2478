"""What is told beside the verdict: the second view, hidden states, and what was not weighed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.diagnosis.misfit import hidden_states
from livecheck.diagnosis.model import conflicts
from livecheck.diagnosis.model.posterior import Posterior
from livecheck.diagnosis.model.priors import leaning
from livecheck.diagnosis.observations import COMPLAINT, Observation
from livecheck.diagnosis.steps.costs import Bench
from livecheck.diagnosis.verdict import Verdict
from livecheck.records import Complaint, Knowledge, Outcome, Remark
from livecheck.records.tables import HISTORY
from livecheck.topology.graph import Graph
from livecheck.topology.ids import FIRMWARE, HUNG, SETTING, SOFTWARE
from livecheck.topology.unlike_memory import unlike

_LIKELIER_THAN_NOT: Final = 0.5


def told(
    bench: Bench,
    found: Sequence[Observation],
    belief: Posterior,
    strange: Sequence[int],
    judged: Verdict,
) -> Iterator[str]:
    """Sentences, each by itself; ``strange``: runs of another machine."""
    graph, knowledge = bench.graph, bench.knowledge
    yield from _left_out(strange, knowledge)
    yield from _soldered(graph, judged, knowledge)
    yield from _leant(bench, judged)
    read = any(r.check.startswith(HISTORY) for one in graph.home for r in one.run.readings)
    if bench.rare and not read:
        yield knowledge.say("rare.told")
    yield from _unlike_memory(graph, knowledge)
    yield from _made_again(graph)
    yield from _sound_again(graph, knowledge)
    yield from _states(found, belief, knowledge)
    yield from _without_priors(found, graph, knowledge)
    yield from _not_weighed(graph, knowledge)


def which_part(
    graph: Graph, found: Sequence[Observation], missed: Sequence[str], knowledge: Knowledge
) -> Iterator[str]:
    """That the part that is missed be named, as long as nothing that was read tells of one."""
    fails = (one for one in found if one.failed and not one.finding and not one.beside)
    shown = any(not one.reading.check.startswith(COMPLAINT) for one in fails)
    if graph.complaint is Complaint.PART_MISSING and not missed and not shown:
        yield knowledge.say("missed.which")


def _soldered(graph: Graph, judged: Verdict, knowledge: Knowledge) -> Iterator[str]:
    """That what is likelier than not is no part that could be ordered by itself."""
    lead = judged.groups[0] if judged.groups else None
    if lead is None or not graph.home or lead.probability < _LIKELIER_THAN_NOT:
        return
    own, now = graph.components[lead.lead], graph.home[-1]
    parts = (one for one in now.run.inventory.parts if now.ids.get(one.id) == own.id)
    if any(part.soldered for part in parts):
        yield knowledge.say("soldered.told", name=own.name)


def _unlike_memory(graph: Graph, knowledge: Knowledge) -> Iterator[str]:
    """That a slower module slows the others, where somebody finds the machine slow."""
    last = graph.home[-1].run.inventory if graph.complaint is Complaint.SLOW else None
    pair = unlike(last) if last is not None else None
    if pair is not None:
        slow, fast = pair
        speeds = [one.attributes["speed_mts"] for one in pair]
        yield knowledge.say("unlike.told", slow=slow.name, fast=fast.name, at=speeds[0],
                            made=speeds[1])  # fmt: skip


def _leant(bench: Bench, judged: Verdict) -> Iterator[str]:
    """What was told at the counter and speaks for the likeliest that bears on the complaint."""
    lead = next((group for group in judged.groups if group.relevant), None)
    if lead is None:
        return
    own = bench.graph.components[lead.lead]
    for words, factors in bench.leans:
        if leaning(own, [(words, factors)]) > 1.0:
            yield bench.knowledge.say("leans.told", words=words, name=own.name)


def _made_again(graph: Graph) -> Iterator[str]:
    """What the bench measured last and cannot be."""
    readings = graph.home[-1].run.readings if graph.home else ()
    why = (r.why_not for r in readings if r.check.startswith("bench.") and r.details)
    yield from (f"{words[:1].upper()}{words[1:]}." for words in dict.fromkeys(why) if words)


def _sound_again(graph: Graph, knowledge: Knowledge) -> Iterator[str]:
    """A figure that failed and passed when it was read again, with nothing told in between."""
    read = [(one.run.number, reading) for one in graph.as_now for reading in one.run.readings]
    for name in dict.fromkeys(r.check for _, r in read):
        check = knowledge.checks.get(name)
        own = [(run, r) for run, r in read if r.check == name]
        failed = [one for one in own[:-1] if one[1].outcome is Outcome.FAILED]
        last, again = own[-1]
        if check is not None and check.last_counts and failed and again.outcome is Outcome.PASSED:
            first, before = failed[0]
            yield knowledge.say(
                "sound-again", before=before.says, first=first, again=again.says, last=last
            )


def _left_out(strange: Sequence[int], knowledge: Knowledge) -> Iterator[str]:
    """Runs that another machine made."""
    if strange:
        yield knowledge.say("verdict.other-machine", runs=", ".join(map(str, strange)))


def _states(found: Sequence[Observation], belief: Posterior, knowledge: Knowledge) -> Iterator[str]:
    """What made several checks fail and is no fault."""
    for name in hidden_states(found, belief.sets):
        yield knowledge.say("state.told", title=knowledge.model.hidden_states[name].title)


def _without_priors(
    found: Sequence[Observation], graph: Graph, knowledge: Knowledge
) -> Iterator[str]:
    """The second view, which weighs nothing; silent when nothing failed."""
    seen = conflicts.view(conflicts.judged_checks(found, graph), max_size=2)
    # What was mended in between failed, and passes now: that needs no other explanation.
    mended = seen.unexplained and any(one.treated for one in graph.home)
    if seen.conflicts and not mended:
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
    done = (own for one in graph.home[-1:] for own in one.treated if own not in graph.index)
    remarks += [own.key for own in done if own.key not in (FIRMWARE, HUNG, SETTING, SOFTWARE)]
    if unknown:
        yield knowledge.say("unknown.checks", names=", ".join(unknown))
    if nowhere:
        yield knowledge.say("unknown.places", names=", ".join(nowhere))
    if remarks:
        yield knowledge.say("unknown.answers", words="; ".join(remarks))
