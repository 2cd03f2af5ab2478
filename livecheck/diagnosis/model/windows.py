"""In which runs a fault was there: hands cure faults, and parts die on the bench.

A contact is a property of its place: taking a part out and putting one in may cure it,
leave it as it was, or spoil a good one. Cleaning, flashing and repairing cure with a
chance. So a fault that could have been cured or begun between runs has several *windows*,
each with its share, which the likelihood sums over as it does over ways of failing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final

from livecheck.diagnosis.model.fault_modes import WHOLE, Window
from livecheck.records import ModelParameters
from livecheck.topology.configuration import Configuration
from livecheck.topology.graph import Component, Graph
from livecheck.topology.ids import (
    ANTENNA_LEAD,
    CONTACT,
    DRIVE_LEAD,
    FIRMWARE,
    HUNG,
    SETTING,
    SOFTWARE,
)

COOLING: Final = "cooling"
DRIVE: Final = "drive"
ANEW: Final = 1000
"""Count of seatings or treatments of what a trial seats or treats."""
_EVENTS: Final = 4
"""Only the last so many seatings or treatments are told apart: what came before is one."""


def windows(graph: Graph, began: Mapping[int, int]) -> tuple[tuple[Window, ...], ...]:
    """Of each component the windows of its fault; empty: it was there in all runs.

    ``began``: part -> run in which a check that it had passed failed at it.
    """
    return tuple(
        _windows(component, graph.home, graph.parameters, began.get(number))
        for number, component in enumerate(graph.components)
    )


def _windows(
    component: Component, home: Sequence[Configuration], model: ModelParameters, began: int | None
) -> tuple[Window, ...]:
    first, last = WHOLE
    cures = cure(component, model)
    spoils = model.reseat_spoils.value if component.kind == CONTACT else 0.0
    spans: list[Window] = []
    left = 1.0
    for run in _events(component, home)[-_EVENTS:]:
        spans.append((left * cures, first, run - 1))
        left *= 1.0 - cures
        if spoils:
            spans.append((spoils, run, last))
    if began is not None and model.dies_on_bench.value:
        spans.append((model.dies_on_bench.value, began, last))
    return (*spans, (left, first, last)) if spans else ()


def _events(component: Component, home: Sequence[Configuration]) -> list[int]:
    """Runs before which something was done that may have cured the component."""
    return [
        after.run.number
        for before, after in pairwise(home)
        if _count(after, component) > _count(before, component)
    ]


def _count(now: Configuration, component: Component) -> int:
    """How often it had been seated or treated by a run."""
    if component.kind == CONTACT:
        return now.seatings.get(component.id.place, 0) if component.id.scope == now.scope else 0
    return now.treated.get(component.id, 0)


def cure(component: Component, model: ModelParameters) -> float:
    """Chance that seating or treating a component cures its fault."""
    by_kind = {
        CONTACT: model.reseat_cures,
        COOLING: model.cleaning_cures,
        DRIVE_LEAD: model.exchange_cures,
        ANTENNA_LEAD: model.exchange_cures,
        HUNG: model.power_away_cures,
        SETTING: model.put_right_cures,
        SOFTWARE: model.setting_cures,
        FIRMWARE: model.reflash_cures,
        DRIVE: model.update_cures,
    }
    return by_kind.get(component.kind, model.repair_cures).value


def cured_by_trial(now: Configuration, component: Component, model: ModelParameters) -> float:
    """Chance that a trial's own seating or treatment cures a component; 0: it does neither."""
    return cure(component, model) if _count(now, component) >= ANEW else 0.0
