"""The sign-off section: the first run of the case held against the one at hand-over."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from livecheck.diagnosis.handover import BARS, HandOver, HandOverRow, HandOverState, Held, compare
from livecheck.names import Named, Names
from livecheck.records import Knowledge, Outcome, Run
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
    missed: str
    """How many checks were left out, in words."""


def sign_off(runs: Sequence[Run], names: Names, knowledge: Knowledge) -> SignOff | None:
    """The section; None where the last run was no hand-over. Pure."""
    local = sorted((r for r in runs if not r.in_known_good_machine), key=lambda r: r.number)
    if not local or not local[-1].hand_over:
        return None
    found = compare(local)
    if found is None:
        # The only run there is: nothing stood before, so there is nothing to hold against.
        return None
    faulty = [row for row in found.rows if row.held]
    return SignOff(
        signed=found.signed,
        headline=text("hand-over.signed" if found.signed else "hand-over.not-signed"),
        span=text("hand-over.span", first=found.first, last=found.last),
        soak=_soak(found),
        parts=tuple(_part(row, names, knowledge) for row in faulty),
        reasons=tuple(_reason(row, names) for row in faulty if row.state in BARS)
        + tuple(r for r in found.reasons[sum(row.state in BARS for row in found.rows) :]),
        sound=tuple(names.of(r.component) for r in found.rows if r.state is HandOverState.SOUND),
        missed=count("hand-over.missed", len(found.missed)),
    )


def _soak(found: HandOver) -> str:
    if found.soaked is not None:
        return found.soaked
    return text("hand-over.no-soak")


def _part(row: HandOverRow, names: Names, knowledge: Knowledge) -> FormerlyFailed:
    return FormerlyFailed(
        component=names.of(row.component, row.name),
        state=text(f"became.{row.state.value.replace(' ', '-')}"),
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


def _reason(row: HandOverRow, names: Names) -> str:
    state = text(f"became.{row.state.value.replace(' ', '-')}")
    return f"{names.of(row.component, row.name).label}: {state}"
