"""How guided checks begin and end: their readings, and what was left out."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from livecheck.guided.events import Skip
from livecheck.guided.rows import GuideOffer, GuideRow, GuideTarget
from livecheck.guided.steps import Choice, GuideStep
from livecheck.records import NotTested, Outcome, Reading, Value

YES_NO = (Choice(value="yes", title="Yes", key="y"), Choice(value="no", title="No", key="n"))
SOURCE = "guided check"


class Basis(msgspec.Struct, frozen=True, kw_only=True):
    """What a reading rests on."""

    value: Value = None
    unit: str | None = None
    details: Sequence[str] = ()
    by: str = "measured"
    """Or ``answered``, by the technician."""


def reading(
    row: GuideRow, target: GuideTarget, outcome: Outcome, says: str, basis: Basis | None = None
) -> Reading:
    """A reading of a guided check."""
    basis = basis or Basis()
    return Reading(
        check=row.becomes,
        at=target.component,
        outcome=outcome,
        value=basis.value,
        unit=basis.unit,
        source=f"{SOURCE}: {row.title} ({basis.by})",
        says=says,
        details=tuple(basis.details),
        device=target.device,
    )


def not_judged(row: GuideRow, target: GuideTarget, why: str) -> Reading:
    """A reading of a check that could not be carried out here."""
    left = reading(row, target, Outcome.NOT_JUDGED, "")
    return msgspec.structs.replace(left, why_not=why)


def ended(*readings: Reading, not_tested: Sequence[NotTested] = ()) -> GuideStep:
    """The last step of a check."""
    return GuideStep(done=True, readings=readings, not_tested=tuple(not_tested))


def skipped(row: GuideRow, targets: Sequence[GuideTarget], skip: Skip) -> tuple[NotTested, ...]:
    """What a left-out check comes to: not tested, once for each thing it is about."""
    return tuple(NotTested(what=row.title, why=skip.why, at=t.component) for t in targets)


def left_out(offer: GuideOffer, why: str = "left out by the technician") -> tuple[NotTested, ...]:
    """The same for a check that was never begun."""
    return skipped(offer.row, offer.targets, Skip(why=why))
