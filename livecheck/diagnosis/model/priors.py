"""How likely each fault is before anything was read: shares of cases and weights.

A case has no fault, the installed system's fault, or one, two or three faults;
``shared/model.toml`` gives those shares, ``shared/components.toml`` the weight of
every kind by complaint within one fault. Sets of the same size are as likely as the product of
their weights.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from math import prod
from typing import Final

from livecheck.records import (
    Complaint,
    Kind,
    Knowledge,
    ModelParameters,
    Parameter,
    Record,
    Side,
)
from livecheck.topology.graph import Component, Graph, kind_row
from livecheck.topology.ids import CONTACT

_SEEN: Final = 1.0
"""Assumed: odds, before anything was read, of what somebody saw with his own eyes."""


class CorrelationParameters(Record, frozen=True, kw_only=True):
    """How far readings repeat each other; all 0: every reading is independent."""

    hidden: float = 0.0
    intermittent: float = 0.0
    symptom_group: float = 0.0
    repeated_check: float = 0.0
    shows_again: float = 0.0
    persistent_alarms: float = 0.0
    persistent_findings: float = 0.0
    table_doubt: float = 0.0


def weight(kind: Kind, complaint: Complaint) -> float:
    """Prior weight of one component of this kind under a complaint."""
    return kind.weight * kind.complaints.get(complaint, 1.0)


def component_weight(component: Component, knowledge: Knowledge, complaint: Complaint) -> float:
    """Prior weight of a component of a case under its complaint."""
    model = knowledge.model
    role = {Side.DEVICE: "part", Side.UNDETERMINED: CONTACT}.get(component.side, "controller")
    value = weight(kind_row(knowledge, component.kind, role), complaint)
    if component.known_good and component.side is not Side.DEVICE:
        value *= share(model.known_good, complaint)
    if component.external:
        value *= model.external_part.value
    if component.vacant:
        value *= share(model.empty_place, complaint)
    if component.joins is not None:
        part, place = component.joins
        value *= weight(kind_row(knowledge, place, "place"), complaint)
        # A bad contact does no more than its part's absence would.
        value *= min(1.0, kind_row(knowledge, part, "part").complaints.get(complaint, 1.0))
    return value


def with_told(
    weights: Sequence[float], told: frozenset[int], model: ModelParameters
) -> list[float]:
    """The weights; less of all that is not on the way to what the customer misses."""
    factor = model.not_missed.value if told else 1.0
    return [w if number in told else w * factor for number, w in enumerate(weights)]


def answering(graph: Graph, model: ModelParameters, blamed: Collection[int]) -> list[float]:
    """Factor on each component's weight for a part that answered at the first look.

    ``blamed``: components that something failed at.
    """
    first = graph.home[:1]
    told = {one.ids[part.id] for one in first for part in one.run.inventory.parts if part.identity}
    factor = model.answering_part.under(graph.complaint)
    return [
        factor if {one.id, one.part} & told and number not in blamed else 1.0
        for number, one in enumerate(graph.components)
    ]


def leaning(component: Component, leans: Iterable[tuple[str, Mapping[str, float]]]) -> float:
    """Factor on a component's weight by what was told when the machine came in."""
    kinds = {component.kind, component.joins[0] if component.joins else component.kind}
    return prod(factors.get(kind, 1.0) for _, factors in leans for kind in kinds)


def apart(graph: Graph, model: ModelParameters, unsafe: Collection[int] = ()) -> dict[int, float]:
    """Odds of what is bad beside the machine's own fault: a part the shop vouches for, and what
    was seen to be unsafe, which is replaced whatever else is found."""
    chance = model.bad_spare.value
    spares = {
        number: chance / (1.0 - chance)
        for number, component in enumerate(graph.components)
        if component.known_good and component.side is Side.DEVICE
    }
    return spares | dict.fromkeys(unsafe, _SEEN)


def share(parameter: Parameter, complaint: Complaint) -> float:
    """A share of cases (0 … 1) under a complaint, kept away from 0 and 1."""
    return _inside(parameter.under(complaint))


def software_share(knowledge: Knowledge, complaint: Complaint) -> float:
    """Share of cases in which the installed system is at fault, kept away from 0 and 1."""
    return _inside(weight(knowledge.kinds["software"], complaint))


def _inside(value: float) -> float:
    return min(max(value, 1e-6), 0.98)


def correlation(model: ModelParameters) -> CorrelationParameters:
    """How far readings repeat each other, by the table."""
    return CorrelationParameters(
        hidden=model.hidden_faults.value,
        intermittent=model.intermittent_faults.value,
        symptom_group=model.symptom_group.value,
        repeated_check=model.repeated_check.value,
        shows_again=model.shows_again.value,
        persistent_alarms=model.persistent_alarms.value,
        persistent_findings=model.persistent_findings.value,
        table_doubt=model.table_doubt.value,
    )


def by_size(model: ModelParameters, complaint: Complaint, max_faults: int) -> tuple[float, ...]:
    """Prior probability of 0, 1, 2 … ``max_faults`` independent faults."""
    none = share(model.no_fault, complaint)
    shares = [1.0]
    for count, parameter in ((2, model.two_faults), (3, model.three_faults)):
        if count <= max_faults:
            shares.append(share(parameter, complaint))
            shares[0] -= shares[-1]
    return (none, *(value * (1.0 - none) for value in shares))


def with_software(
    weights: Sequence[float], software: int | None, knowledge: Knowledge, complaint: Complaint
) -> list[float]:
    """The weights with the installed system's set so that its share of cases is the table's."""
    whole = list(weights)
    if software is None:
        return whole
    none = share(knowledge.model.no_fault, complaint)
    part = min(software_share(knowledge, complaint) / (1.0 - none), 0.95)
    rest = sum(w for number, w in enumerate(whole) if number != software)
    whole[software] = part / (1.0 - part) * rest if rest > 0 else 1.0
    return whole
