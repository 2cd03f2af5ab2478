"""What each reading weighs for or against the repair that the verdict is about."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import msgspec

from livecheck.diagnosis.factors import factors
from livecheck.diagnosis.model import priors
from livecheck.diagnosis.model.likelihood import Likelihood
from livecheck.diagnosis.model.priors import CorrelationParameters
from livecheck.diagnosis.observations import COMPLAINT, Observation
from livecheck.diagnosis.verdict import RepairGroup, Verdict
from livecheck.records import Evidence, ModelParameters


def leading(judged: Verdict, found: Sequence[Observation]) -> RepairGroup | None:
    """The likeliest group that could explain the complaint.

    Once something failed, one that it could be of, else one that was looked at: any other would
    be named for being common alone.
    """
    relevant = [group for group in judged.groups if group.relevant]
    if any(one.failed for one in found):
        blamed = pointed_at(found)
        touched = [group for group in relevant if group.touched]
        relevant = [group for group in touched if not blamed.isdisjoint(group.members)] or touched
    return next(iter(relevant or judged.groups), None)


def pointed_at(found: Iterable[Observation]) -> frozenset[int]:
    """Components that a failure could be of; where the complaint was seen points at nothing."""
    fails = (o for o in found if o.failed and not o.reading.check.startswith(COMPLAINT))
    return frozenset(number for one in fails for number, _ in one.members)


def weighed(
    about: RepairGroup | None, found: Sequence[Observation], model: ModelParameters
) -> tuple[Evidence, ...]:
    """The readings that speak for or against a group, the weightiest first."""
    # What each reading weighs by itself, if the fault acts in its run.
    plain = msgspec.structs.replace(
        priors.correlation(model), hidden=0.0, intermittent=0.0, table_doubt=0.0
    )
    weights = _weights(about, found, plain)
    order = sorted(range(len(found)), key=lambda n: (-abs(weights[n]), not found[n].failed, n))
    kept = [n for n in order if found[n].failed or abs(weights[n]) > 0.01]
    return tuple(_evidence(found[n], weights[n]) for n in kept)


def _weights(
    group: RepairGroup | None, found: Sequence[Observation], plain: CorrelationParameters
) -> list[float]:
    """Natural log of each reading's likelihood ratio: a fault in the group against none.

    Readings of one check share what they weigh together in the posterior.
    """
    own = set(group.members) if group is not None else set()
    lead = group.lead if group is not None else None
    alike: dict[str, list[int]] = {}
    for number, one in enumerate(found):
        alike.setdefault(one.reading.check, []).append(number)
    weights = [0.0] * len(found)
    for numbers in alike.values():
        detects = {n: d for k in numbers for n, d in found[k].members if n in own}
        if detects:
            # What is named, where this check sees it; else whatever of it the check sees best.
            member = lead if lead in detects else max(detects, key=lambda n: detects[n])
            _share(weights, [(k, found[k]) for k in numbers], member, plain)
    return weights


def _share(
    weights: list[float],
    alike: Sequence[tuple[int, Observation]],
    member: int,
    plain: CorrelationParameters,
) -> None:
    """Give failures and passes their parts of the weight of a check's readings."""
    near = [(number, one) for number, one in alike if member in dict(one.members)]
    # What the check says elsewhere tells whether it is a habit of the machine.
    elsewhere = [one for _, one in alike if member not in dict(one.members)]

    def ratio(some: Sequence[Observation]) -> float:
        return Likelihood(factors([*some, *elsewhere]), plain).gain((member,)) if some else 0.0

    fails = [number for number, one in near if one.failed]
    passes = [number for number, one in near if not one.failed]
    alone = ratio([one for _, one in near if one.failed])
    together = ratio([one for _, one in near])
    for number in fails:
        weights[number] = alone / len(fails)
    for number in passes:
        weights[number] = (together - alone) / len(passes)


def _evidence(one: Observation, weight: float) -> Evidence:
    return Evidence(
        run=one.run,
        check=one.reading.check,
        at=one.reading.at,
        outcome=one.reading.outcome,
        says=one.reading.says or f"{one.reading.check} {one.reading.outcome.value}",
        weight=round(weight, 4),
    )
