"""The tables with what a shop's confirmed cases taught."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import msgspec

from livecheck.learning.fit import EVERY
from livecheck.learning.lessons import ALARM, NO_FAULT, SHOWS, SOFTWARE, STATE
from livecheck.learning.update import moved
from livecheck.records import Check, Knowledge, Learned
from livecheck.topology.blame import row_name

MOST_SHARE: Final = 0.9
Factors = Mapping[tuple[str, str], float]


def applied(knowledge: Knowledge, learned: Sequence[Learned], cases: int) -> Knowledge:
    """The tables with these factors on them; as they are without any."""
    if not learned:
        return knowledge
    factors: dict[tuple[str, str], float] = {(r.table, r.name): r.factor for r in learned}
    kinds, model = dict(knowledge.kinds), knowledge.model
    for name, kind in kinds.items():
        weight = kind.weight * factors.get(("weight", name), 1.0)
        most = MOST_SHARE if name == SOFTWARE else weight
        kinds[name] = msgspec.structs.replace(kind, weight=min(weight, most))
    none = model.no_fault.value * factors.get(("weight", NO_FAULT), 1.0)
    states = {
        name: msgspec.structs.replace(
            state, shares=tuple(moved(s, _of(factors, STATE, name)) for s in state.shares)
        )
        for name, state in model.hidden_states.items()
    }
    model = msgspec.structs.replace(
        model,
        no_fault=msgspec.structs.replace(model.no_fault, value=min(none, MOST_SHARE)),
        hidden_states=states,
    )
    return msgspec.structs.replace(
        knowledge,
        kinds=kinds,
        model=model,
        checks={name: _check(check, factors) for name, check in knowledge.checks.items()},
        origin=f"{knowledge.origin}, moved by {cases} confirmed cases of this shop",
        learned=tuple(learned),
    )


def _of(factors: Factors, table: str, name: str) -> float:
    every = factors.get((ALARM if table == STATE else table, EVERY), 1.0)
    return factors.get((table, name), every)


def _check(check: Check, factors: Factors) -> Check:
    return msgspec.structs.replace(
        check,
        false_alarm=moved(check.false_alarm, _of(factors, ALARM, check.name)),
        blames=tuple(
            msgspec.structs.replace(
                row, detect=moved(row.detect, _of(factors, SHOWS, row_name(check.name, row)))
            )
            for row in check.blames
        ),
    )
