"""The verdict in sentences a technician would say, each traceable to readings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.diagnosis import components, patterns, priors, verdict
from livecheck.diagnosis.blame import Exercise, factors
from livecheck.diagnosis.components import Graph, cured
from livecheck.diagnosis.likelihood import Likelihood
from livecheck.diagnosis.patterns import Trial
from livecheck.diagnosis.priors import Weights
from livecheck.diagnosis.verdict import Group, Verdict
from livecheck.records import Evidence, Knowledge, Outcome, Record, Side, whole_percent

SECOND: Final = 0.2
"""A further fault less likely than this is not spoken of."""
_SPOKEN: Final = 3
"""Readings told in full, for and against each."""


class Told(Record, frozen=True, kw_only=True):
    """The words and the evidence behind them."""

    sentence: str
    explanation: tuple[str, ...]
    evidence: tuple[Evidence, ...]


def tell(
    graph: Graph,
    judged: Verdict,
    found: Sequence[Exercise],
    knowledge: Knowledge,
    trials: Sequence[Trial],
    pattern: str | None,
) -> Told:
    """Sentence, further sentences and evidence of a verdict.

    ``trials``: those that show ``pattern``, or that came closest to one.
    """
    about = judged.group or leading(judged, found)
    # What each reading weighs by itself, if the fault acts in its run.
    trust = priors.trust(knowledge.model)
    plain = msgspec.structs.replace(trust, hidden=0.0, fitful=0.0, doubt=0.0)
    weights = _weights(about, found, plain)
    order = sorted(range(len(found)), key=lambda n: (-abs(weights[n]), not found[n].failed, n))
    kept = [n for n in order if found[n].failed or abs(weights[n]) > 0.01]
    evidence = tuple(_evidence(found[n], weights[n]) for n in kept)
    explanation = [
        *_swaps_told(graph, trials, pattern, knowledge),
        *_for_and_against(evidence, about, graph, knowledge),
        *_what_lacks(graph, judged, about, knowledge),
        *_also(graph, judged, about, found, knowledge),
    ]
    failed = any(one.failed for one in found)
    return Told(
        sentence=_sentence(graph, judged, pattern, about, failed, knowledge),
        explanation=tuple(explanation),
        evidence=evidence,
    )


def leading(judged: Verdict, found: Sequence[Exercise]) -> Group | None:
    """The likeliest group that could explain the complaint.

    Once something failed, one that was looked at: what nothing was read of would be named
    for being common alone.
    """
    relevant = [group for group in judged.groups if group.relevant]
    if any(one.failed for one in found):
        relevant = [group for group in relevant if group.touched]
    return next(iter(relevant or judged.groups), None)


def _weights(group: Group | None, found: Sequence[Exercise], trust: Weights) -> list[float]:
    """Natural log of each reading's likelihood ratio: a fault in the group against none.

    Readings of one check share what they weigh together in the posterior.
    """
    own = set(group.members) if group is not None else set()
    alike: dict[str, list[int]] = {}
    for number, one in enumerate(found):
        alike.setdefault(one.reading.check, []).append(number)
    weights = [0.0] * len(found)
    for numbers in alike.values():
        detects = {n: d for k in numbers for n, d in found[k].members if n in own}
        if detects:
            member = max(detects, key=lambda n: detects[n])
            touching = [k for k in numbers if member in dict(found[k].members)]
            _share(weights, [(k, found[k]) for k in touching], member, trust)
    return weights


def _share(
    weights: list[float], alike: Sequence[tuple[int, Exercise]], member: int, trust: Weights
) -> None:
    """Give failures and passes their parts of the weight of a check's readings."""

    def ratio(some: Sequence[Exercise]) -> float:
        return Likelihood(factors(some), trust).gain((member,)) if some else 0.0

    fails = [number for number, one in alike if one.failed]
    passes = [number for number, one in alike if not one.failed]
    alone = ratio([one for _, one in alike if one.failed])
    together = ratio([one for _, one in alike])
    for number in fails:
        weights[number] = alone / len(fails)
    for number in passes:
        weights[number] = (together - alone) / len(passes)


def _evidence(one: Exercise, weight: float) -> Evidence:
    return Evidence(
        run=one.run,
        check=one.reading.check,
        at=one.reading.at,
        outcome=one.reading.outcome,
        says=one.reading.says or f"{one.reading.check} {one.reading.outcome.value}",
        weight=round(weight, 4),
    )


def percent(probability: float, knowledge: Knowledge) -> str:
    """A probability as whole per cent, never a bare 0 or 100."""
    key, number = whole_percent(probability)
    return knowledge.say(f"percent.{key}", percent=number)


def _sentence(
    graph: Graph,
    judged: Verdict,
    pattern: str | None,
    about: Group | None,
    failed: bool,
    knowledge: Knowledge,
) -> str:
    say, share = knowledge.say, percent(judged.probability, knowledge)
    if judged.side is Side.NO_FAULT:
        return say("verdict.no-fault", share=share)
    if judged.side is Side.SOFTWARE:
        return say("verdict.software", share=share)
    if judged.group is not None:
        return _named(graph, judged, judged.group, pattern, knowledge)
    if pattern == patterns.VANISHES:
        return say("verdict.vanishes")
    if about is None:
        return say("verdict.nothing-read")
    return _open(graph, judged, about, failed, knowledge)


def _open(graph: Graph, judged: Verdict, about: Group, failed: bool, knowledge: Knowledge) -> str:
    sound = judged.sides[Side.NO_FAULT]
    if not failed and sound > about.probability:
        return knowledge.say("open.no-fault", share=percent(sound, knowledge))
    if about.side is Side.SOFTWARE or about.probability < 0.05:
        return knowledge.say("open.nothing-points")
    lead = graph.components[about.lead]
    whole = len(about.members) == 1 or about.unit != components.MAINBOARD
    name = lead.name if whole else knowledge.say("open.somewhere", unit=about.unit)
    how = "failed" if failed else "passed" if about.touched else "untold"
    return knowledge.say(f"open.{how}", name=name, share=percent(about.probability, knowledge))


def _named(
    graph: Graph, judged: Verdict, group: Group, pattern: str | None, knowledge: Knowledge
) -> str:
    lead = graph.components[group.lead]
    told = {"name": lead.name, "share": percent(judged.probability, knowledge)}
    if judged.side is Side.UNDETERMINED:
        return knowledge.say("named.contact", **told)
    if cured(graph, lead):
        return knowledge.say("named.cured", **told)
    shown = (pattern, judged.side)
    start = knowledge.say(f"start.{_STARTS[shown]}") if shown in _STARTS else ""
    if judged.side is Side.CONTROLLER and group.unit != lead.kind:
        return start + knowledge.say("named.on-unit", unit=group.unit, **told)
    return start + knowledge.say("named.part", **told)


_STARTS: Final = {
    (patterns.FOLLOWS, Side.DEVICE): "follows",
    (patterns.STAYS, Side.CONTROLLER): "stays",
    (patterns.COMMON, Side.CONTROLLER): "common",
}


def _swaps_told(
    graph: Graph, trials: Sequence[Trial], pattern: str | None, knowledge: Knowledge
) -> list[str]:
    """What failed and what passed where, as one would tell it across the bench."""
    if pattern is None:
        return []
    words = [
        knowledge.say(
            "swap.failed" if failed else "swap.passed",
            part=name_of(graph, part),
            place=name_of(graph, place),
        )
        for part, place, failed in dict.fromkeys(trials)
    ]
    told = knowledge.say("swap.told", trials="; ".join(words), pattern=pattern)
    return [told[:1].upper() + told[1:]]


def name_of(graph: Graph, component: str) -> str:
    """A component's name, else its id."""
    number = graph.index.get(component)
    return graph.components[number].name if number is not None else component


def _for_and_against(
    evidence: Sequence[Evidence], about: Group | None, graph: Graph, knowledge: Knowledge
) -> list[str]:
    if about is None:
        return []
    told = []
    for key, sign in (("weighed.for", 1), ("weighed.against", -1)):
        spoken: dict[str, list[int]] = {}
        for one in evidence:
            if one.weight * sign > 0.1:
                spoken.setdefault(one.says.rstrip("."), []).append(one.run)
        words = [
            knowledge.say("weighed.reading", says=says, runs=_runs(runs, knowledge))
            for says, runs in list(spoken.items())[:_SPOKEN]
        ]
        if words:
            name = graph.components[about.lead].name
            told.append(knowledge.say(key, name=name, readings="; ".join(words)))
    return told


def _runs(numbers: Sequence[int], knowledge: Knowledge) -> str:
    unique = sorted(set(numbers))
    if len(unique) == 1:
        return knowledge.say("runs.one", last=unique[0])
    return knowledge.say("runs.other", runs=", ".join(map(str, unique[:-1])), last=unique[-1])


def _what_lacks(
    graph: Graph, judged: Verdict, about: Group | None, knowledge: Knowledge
) -> list[str]:
    """Why nothing is named yet."""
    if judged.side is not Side.UNDETERMINED or judged.group is not None or about is None:
        return []
    name = graph.components[about.lead].name
    if about.side is Side.CONTROLLER and about.probability >= 0.5:
        told = knowledge.say(
            "lacks.board",
            unit=about.unit if about.unit == name else f"{about.unit} ({name})",
            needed=percent(verdict.BOARD_THRESHOLD, knowledge),
            share=percent(about.probability, knowledge),
        )
        return [told if about.proven else f"{told} {knowledge.say('lacks.proof')}"]
    untouched = [
        graph.components[group.lead].name
        for group in judged.groups[:6]
        if not group.touched and group.probability >= 0.02 and group.side is Side.DEVICE
    ]
    told_of = []
    if untouched:
        told_of.append(knowledge.say("lacks.untested", names=", ".join(untouched)))
    if judged.sides.get(Side.SOFTWARE.value, 0.0) >= 0.2:
        told_of.append(knowledge.say("lacks.software"))
    return told_of


def _also(
    graph: Graph,
    judged: Verdict,
    about: Group | None,
    found: Sequence[Exercise],
    knowledge: Knowledge,
) -> list[str]:
    """Further faults beside the main one, each with what failed there."""
    told = []
    for group in judged.groups:
        if group is about or group.probability < SECOND or group.side is Side.SOFTWARE:
            continue
        failed = [one for one in found if one.failed and _blames(one, group)]
        own = [one for one in failed if about is None or not _blames(one, about)]
        if not own:
            continue
        told.append(
            knowledge.say(
                "also",
                name=graph.components[group.lead].name,
                share=percent(group.probability, knowledge),
                says=own[0].reading.says.rstrip(".") or own[0].reading.check,
                runs=_runs([one.run for one in own], knowledge),
            )
        )
    return told


def _blames(one: Exercise, group: Group) -> bool:
    return one.reading.outcome is Outcome.FAILED and any(
        number in group.members for number, _ in one.members
    )
