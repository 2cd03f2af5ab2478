"""The verdict in sentences a technician would say, each traceable to readings."""

from __future__ import annotations

from collections.abc import Sequence
from math import log

from livecheck.diagnosis import patterns
from livecheck.diagnosis.blame import Exercise
from livecheck.diagnosis.components import Graph
from livecheck.diagnosis.posterior import Posterior
from livecheck.diagnosis.verdict import Group, Verdict
from livecheck.records import Evidence, Record, Side, Swap


class Told(Record, frozen=True, kw_only=True):
    """The words and the evidence behind them."""

    sentence: str
    explanation: tuple[str, ...]
    evidence: tuple[Evidence, ...]


def tell(
    graph: Graph,
    belief: Posterior,
    judged: Verdict,
    found: Sequence[Exercise],
    pattern: str | None,
    swaps: Sequence[Swap],
) -> Told:
    """Sentence, further sentences and evidence of a verdict."""
    about = judged.group or _leading(judged)
    weights = _weights(about, found) if about is not None else [0.0] * len(found)
    order = sorted(range(len(found)), key=lambda n: (-abs(weights[n]), not found[n].failed, n))
    evidence = tuple(
        _evidence(found[n], weights[n]) for n in order if found[n].failed or abs(weights[n]) > 0.01
    )
    return Told(
        sentence=_sentence(graph, judged, pattern, about),
        explanation=_explanation(graph, belief, judged, found, pattern, about),
        evidence=evidence,
    )


def _leading(judged: Verdict) -> Group | None:
    touched = [group for group in judged.groups if group.touched and group.relevant]
    return next(iter(touched or judged.groups), None)


def _weights(group: Group, found: Sequence[Exercise]) -> list[float]:
    """Natural log of each reading's likelihood ratio: a fault in the group against none.

    Repeats of one failing reading share the weight of one, as in the posterior.
    """
    own = set(group.members)
    repeats: dict[tuple[str, tuple[tuple[int, float], ...]], int] = {}
    for one in found:
        if one.failed:
            key = (one.reading.check, one.members)
            repeats[key] = repeats.get(key, 0) + 1
    weights = []
    for one in found:
        detect = max((d for number, d in one.members if number in own), default=0.0)
        if detect == 0.0:
            weights.append(0.0)
        elif one.failed:
            chance = 1.0 - (1.0 - one.false_alarm) * (1.0 - detect)
            count = repeats[(one.reading.check, one.members)]
            weights.append(log(chance / one.false_alarm) / count)
        else:
            weights.append(log(1.0 - detect))
    return weights


def _evidence(one: Exercise, weight: float) -> Evidence:
    return Evidence(
        run=one.run,
        check=one.reading.check,
        at=one.reading.at,
        outcome=one.reading.outcome,
        says=one.reading.says or f"{one.reading.check}: {one.reading.outcome.value}",
        weight=round(weight, 4),
    )


def percent(probability: float) -> str:
    """A probability as whole per cent, never a bare 0 or 100."""
    if probability > 0.995:
        return "over 99 %"
    if probability < 0.005:
        return "under 1 %"
    return f"{100 * probability:.0f} %"


def _sentence(graph: Graph, judged: Verdict, pattern: str | None, about: Group | None) -> str:
    if judged.side is Side.NO_FAULT:
        return f"No fault found in what was tested, {percent(judged.probability)}."
    if judged.side is Side.SOFTWARE:
        return (
            "The hardware that was tested is sound; the fault is in the installed system, "
            f"{percent(judged.probability)}."
        )
    if judged.group is not None:
        name = graph.components[judged.group.lead].name
        share = percent(judged.probability)
        if judged.side is Side.UNDETERMINED:
            return f"The fault is in the {name}, {share}: reseat, clean the contacts, repeat."
        start = f"The {pattern}: " if pattern in (patterns.FOLLOWS, patterns.STAYS) else ""
        if judged.side is Side.CONTROLLER:
            return f"{start}{judged.group.unit} ({name}) at fault, {share}."
        return f"{start}{name} at fault, {share}."
    if pattern == patterns.VANISHES:
        return (
            "The fault vanished when parts were swapped or reseated: a bad contact or an "
            "intermittent fault. Reseat, repeat."
        )
    if about is None:
        return "Nothing was read yet that could tell."
    return (
        f"Not settled yet: most likely {graph.components[about.lead].name}, "
        f"{percent(about.probability)}."
    )


def _explanation(
    graph: Graph,
    belief: Posterior,
    judged: Verdict,
    found: Sequence[Exercise],
    pattern: str | None,
    about: Group | None,
) -> tuple[str, ...]:
    told: list[str] = []
    return tuple(told)
