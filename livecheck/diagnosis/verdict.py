"""When the probabilities suffice to name a side, and which unit to name.

A wrongly ordered board costs most, so the board needs more: 0.95, and a failure
that outlived the replacement of a part it could have come from, or a direct
observation of the controller side. Thresholds are common practice of decision
theory (act when the expected loss of waiting exceeds that of being wrong) with
figures assumed; see also the costs in shared/components.toml and shared/bench.toml.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.diagnosis.complaint import explains, fails_on, only_inside, only_kept, tested_clean
from livecheck.diagnosis.misfit import fits_nothing
from livecheck.diagnosis.model.posterior import Posterior
from livecheck.diagnosis.observations import Observation
from livecheck.diagnosis.outlived import mended, survived
from livecheck.diagnosis.patterns import VANISHES, PatternSeen
from livecheck.records import Knowledge, ModelParameters, Record, Side
from livecheck.topology.graph import Graph
from livecheck.topology.ids import MAINBOARD

SOUND: Final = 0.6
"""Assumed: the customer saw something, so that of a machine tested clean the installed system is
named though no fault at all is a little likelier."""


_Told = tuple[Side, "RepairGroup | None", float]


class RepairGroup(Record, frozen=True, kw_only=True):
    """Components repaired by ordering the same one unit, and how likely a fault among them is."""

    members: tuple[int, ...]
    lead: int
    """The member most likely at fault."""
    side: Side
    unit: str
    probability: float
    relevant: bool
    """True: such a fault could be what the customer complains of."""
    touched: bool
    """True: a judged reading looked at its lead."""
    proven: bool
    """True: the evidence suffices to order it, whatever the probability."""
    gone: float = 0.0
    """Of its probability the share in which the fault was there and was cured."""
    mended: bool = False
    """True: another one is in for good, and passes what its lead failed."""


class Verdict(Record, frozen=True, kw_only=True):
    """What the case says so far."""

    side: Side
    group: RepairGroup | None
    probability: float
    sides: dict[str, float]
    groups: tuple[RepairGroup, ...]
    """All groups, likeliest first."""
    also: tuple[RepairGroup, ...] = ()
    """Further groups that pass their thresholds."""
    misfit: bool = False
    """True: what failed fits no one explanation."""


def judge(
    graph: Graph,
    belief: Posterior,
    found: Sequence[Observation],
    knowledge: Knowledge,
    pattern: PatternSeen,
) -> Verdict:
    """The verdict of a posterior.

    A fault that went away when parts were swapped or reseated names no part by the
    check that showed it, however likely the arithmetic makes one.
    """
    groups = grouped(graph, belief, found, knowledge)
    sides = side_shares(graph, belief)
    model = knowledge.model
    named = [g for g in groups if passes(g, model) and not _only_vanished(g, found, pattern)]
    named = [g for g in named if g.side is not Side.SOFTWARE or not only_kept(g.members, found)]
    # A spare that is bad as well is the shop's; the customer's own unit comes first.
    main = [group for group in named if group.relevant]
    main.sort(key=lambda group: graph.components[group.lead].known_good)
    strange = fits_nothing(found, graph)
    told: _Told | None = None
    if strange:
        known = (1.0 - model.unknown_cause.value) * max(g.probability for g in groups)
        told = Side.UNDETERMINED, None, known
    elif main:
        told = main[0].side, main[0], main[0].probability
    elif found and belief.none >= model.device_verdict.value:
        told = Side.NO_FAULT, None, belief.none
    else:
        clean = tested_clean(graph, belief.sets, found, knowledge)
        told = _unnamed(groups, belief.none, model, (clean, only_inside(found)))
    if told is None:
        likeliest = [group for group in groups if group.relevant] or list(groups)
        told = Side.UNDETERMINED, None, likeliest[0].probability if likeliest else 0.0
    side, best, probability = told
    return Verdict(
        side=side,
        group=best,
        probability=probability,
        sides=sides,
        groups=groups,
        also=tuple(group for group in named if group is not best),
        misfit=strange,
    )


def _unnamed(
    groups: tuple[RepairGroup, ...],
    none: float,
    model: ModelParameters,
    seen: tuple[bool, bool],
) -> _Told | None:
    """No fault found in what was tested, or the installed system; None: it stays open.

    ``seen``: whether the machine was tested clean, and whether the complaint was seen in the
    installed system alone.
    """
    clean, inside = seen
    system = next((group for group in groups if group.side is Side.SOFTWARE), None)
    told = system.probability if system is not None else 0.0
    if inside and told >= model.inside_verdict.value:
        return Side.SOFTWARE, system, told
    part = max((g.probability for g in groups if g.side is not Side.SOFTWARE), default=0.0)
    rival = part if inside else max(part, SOUND * none)
    if clean and told > max(model.system_verdict.value, rival):
        return Side.SOFTWARE, system, told
    open_yet = not clean or part >= model.clean_open.value
    return None if open_yet else (Side.NO_FAULT, None, 1.0 - part)


def settled(judged: Verdict, model: ModelParameters) -> Verdict:
    """The verdict where no step is left that tells more: the likeliest unit is named.

    What is out of the machine, with a good part working in its stead, waits for nothing else.
    """
    relevant = [group for group in judged.groups if group.relevant and group.touched]
    if judged.group is not None or judged.side is not Side.UNDETERMINED or not relevant:
        return judged
    best = relevant[0]
    board = best.unit == MAINBOARD
    needed = (model.last_board_order if board else model.last_verdict).value
    if judged.misfit or best.probability < needed or not best.proven:
        return judged
    return msgspec.structs.replace(judged, side=best.side, group=best, probability=best.probability)


def of_the_system(judged: Verdict) -> Verdict:
    """The verdict where to put the installed system right comes next: then it is named."""
    system = next((group for group in judged.groups if group.side is Side.SOFTWARE), None)
    if system is None or judged.side is not Side.UNDETERMINED or judged.misfit:
        return judged
    return msgspec.structs.replace(
        judged, side=Side.SOFTWARE, group=system, probability=system.probability
    )


def _only_vanished(group: RepairGroup, found: Sequence[Observation], pattern: PatternSeen) -> bool:
    """True when all that failed at this part is a check that has passed there since."""
    if pattern.name != VANISHES or group.side is not Side.DEVICE:
        return False
    own = set(group.members)
    failed = {
        one.reading.check
        for one in found
        if one.failed and own & {number for number, _ in one.members}
    }
    return failed <= {pattern.check}


def passes(group: RepairGroup, model: ModelParameters) -> bool:
    """True when a group may be named."""
    if group.gone > 0.5:
        return group.probability >= model.cured_verdict.value and group.touched
    if group.mended:
        # Nothing is ordered on it any more.
        return group.probability >= model.cured_verdict.value
    if group.unit == MAINBOARD:
        needed = model.board_verdict.value
        return group.probability >= needed and group.touched and group.proven
    sure = group.probability >= model.device_verdict.value
    return sure and (group.touched or group.side is Side.SOFTWARE)


def grouped(
    graph: Graph, belief: Posterior, found: Sequence[Observation], knowledge: Knowledge
) -> tuple[RepairGroup, ...]:
    """Every group of components that one order repairs, likeliest first."""
    members: dict[str, list[int]] = {}
    for number, component in enumerate(graph.components):
        members.setdefault(component.group, []).append(number)
    mass = _group_mass(graph, belief)
    touched = {number for one in found for number, _ in one.members}
    groups = []
    out = fails_on(graph, belief, found, knowledge)
    for name, numbers in members.items():
        lead = max(numbers, key=lambda n: (n in touched, belief.marginals[n]))
        component = graph.components[lead]
        groups.append(
            RepairGroup(
                members=tuple(numbers),
                lead=lead,
                side=component.side,
                unit=component.unit,
                probability=mass.get(name, 0.0),
                relevant=lead not in out
                and explains(component.kind, frozenset(numbers), graph, found, knowledge),
                touched=lead in touched,
                proven=component.unit != MAINBOARD or survived(lead, graph, found),
                gone=belief.model.gone(lead),
                mended=mended(lead, graph, found),
            )
        )
    return tuple(sorted(groups, key=lambda group: -group.probability))


def side_shares(graph: Graph, belief: Posterior) -> dict[str, float]:
    """Probability by side; a set with faults on several sides counts for each in part.

    The share of faults in a contact, where no part is to be ordered, stands under
    ``undetermined``. The shares add up to 1.
    """
    shares = {side.value: 0.0 for side in Side}
    parts = [0.0] * len(graph.components)
    whole = 0.0
    for members, mass in belief.sets:
        whole += mass
        if not members:
            shares[Side.NO_FAULT.value] += mass
        for number in members:
            parts[number] += mass / len(members)
    for component, part in zip(graph.components, parts, strict=True):
        shares[component.side.value] += part
    return {side: share / whole for side, share in shares.items()}


def _group_mass(graph: Graph, belief: Posterior) -> dict[str, float]:
    names = [component.group for component in graph.components]
    mass = dict.fromkeys(names, 0.0)
    for members, probability in belief.sets:
        for name in set(map(names.__getitem__, members)):
            mass[name] += probability
    return mass
