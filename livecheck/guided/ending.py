"""How guided checks begin and end: their readings, and what was left out."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.guided.model import Choice, Offer, Row, Skip, Step, Target
from livecheck.records import NotTested, Outcome, Reading, Value

YES_NO = (Choice(value="yes", title="Yes", key="y"), Choice(value="no", title="No", key="n"))
SOURCE = "guided check"


def reading(
    row: Row,
    target: Target,
    outcome: Outcome,
    says: str,
    *,
    value: Value = None,
    unit: str | None = None,
    why_not: str | None = None,
    details: Sequence[str] = (),
    by: str = "measured",
) -> Reading:
    """A reading of a guided check; ``by`` says whether it was measured or answered."""
    return Reading(
        check=row.becomes,
        at=target.component,
        outcome=outcome,
        value=value,
        unit=unit,
        source=f"{SOURCE}: {row.title} ({by})",
        says=says,
        why_not=why_not,
        details=tuple(details),
        device=target.device,
    )


def not_judged(row: Row, target: Target, why: str) -> Reading:
    """A reading of a check that could not be carried out here."""
    return reading(row, target, Outcome.NOT_JUDGED, "", why_not=why)


def ended(*readings: Reading, not_tested: Sequence[NotTested] = ()) -> Step:
    """The last step of a check."""
    return Step(done=True, readings=readings, not_tested=tuple(not_tested))


def skipped(row: Row, targets: Sequence[Target], skip: Skip) -> tuple[NotTested, ...]:
    """What a left-out check comes to: not tested, once for each thing it is about."""
    return tuple(NotTested(what=row.title, why=skip.why, at=t.component) for t in targets)


def left_out(offer: Offer, why: str = "left out by the technician") -> tuple[NotTested, ...]:
    """The same for a check that was never begun."""
    return skipped(offer.row, offer.targets, Skip(why=why))
