"""The sign-off section: the first run of the case held against the one at hand-over."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from livecheck.diagnosis.handover import BARS, HandOverRow, HandOverState, Held
from livecheck.heed import IN_DANGER, data_in
from livecheck.names import Named, Names
from livecheck.records import Case, Knowledge, Outcome, Run
from livecheck.signing import became, goes_with, hand_over_of, headline, reasons, soak
from livecheck.wording import count, question, text


class CheckBeforeAfter(msgspec.Struct, frozen=True, kw_only=True):
    """One check, before and after."""

    question: str
    before: str | None
    now: Outcome | None
    says: str


class FormerlyFailed(msgspec.Struct, frozen=True, kw_only=True):
    """One component that failed at any time."""

    component: Named
    state: str
    """A word of the catalogue."""
    barred: bool
    lines: tuple[CheckBeforeAfter, ...]
    successor: Named | None


class SignOff(msgspec.Struct, frozen=True, kw_only=True):
    """What the template shows."""

    signed: bool
    headline: str
    span: str
    """Which runs are compared."""
    soak: str
    parts: tuple[FormerlyFailed, ...]
    reasons: tuple[str, ...]
    sound: tuple[Named, ...]
    """Components that were tested and never failed."""
    with_it: str | None
    """What was handed over with the machine."""
    data: str | None
    """Where the data of what goes back are at risk."""
    missed: str
    """How many checks were left out, in words."""


def sign_off(case: Case, runs: Sequence[Run], names: Names, knowledge: Knowledge) -> SignOff | None:
    """The section; None where the last run was no hand-over, or nothing stood before it. Pure."""
    found = hand_over_of(case, runs, knowledge)
    if found is None:
        return None
    data = data_in(runs, knowledge)
    return SignOff(
        signed=found.signed,
        headline=headline(found),
        span=text("hand-over.span", first=found.first, last=found.last),
        soak=soak(found, case, knowledge),
        parts=tuple(_part(row, names, knowledge) for row in found.rows if row.to_tell),
        reasons=tuple(reasons(found, names)),
        sound=tuple(names.of(r.component) for r in found.rows if r.state is HandOverState.SOUND),
        with_it=goes_with(case),
        data=text(f"customer.data-{data}") if data in IN_DANGER else None,
        missed=count("hand-over.missed", len(found.missed)),
    )


def _part(row: HandOverRow, names: Names, knowledge: Knowledge) -> FormerlyFailed:
    return FormerlyFailed(
        component=names.of(row.component),
        state=became(row),
        barred=row.state in BARS,
        lines=tuple(_line(held, knowledge) for held in row.held),
        successor=names.of(row.successor) if row.successor else None,
    )


def _line(held: Held, knowledge: Knowledge) -> CheckBeforeAfter:
    return CheckBeforeAfter(
        question=question(held.check, knowledge),
        before=held.before,
        now=held.now,
        says=held.says,
    )
