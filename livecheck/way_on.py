"""What is left to do once a repair is proven: the way from there to the customer. Pure.

A repair is proven when what the verdict names failed, was then replaced, taken out or
treated, and what failed there passes now, with nothing of the shop's left in the machine.
A machine that is signed off goes back, whatever its owner takes it back with.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from enum import StrEnum
from typing import Final

import msgspec

from livecheck.diagnosis.handover import HandOver, HandOverState, compare
from livecheck.diagnosis.steps.actions import Action
from livecheck.intake import PASSWORD, data_wanted, words_of
from livecheck.records import (
    AllPowerAway,
    BoardReplaced,
    Case,
    CleanedPart,
    FirmwareFlashed,
    Knowledge,
    Location,
    NextStep,
    Outcome,
    PartIs,
    RepairedPart,
    Run,
    SettingPutRight,
    Side,
)
from livecheck.wording import kind_title, text

TREATED: Final = (
    AllPowerAway,
    BoardReplaced,
    CleanedPart,
    FirmwareFlashed,
    RepairedPart,
    SettingPutRight,
)
HOLDS_DATA: Final = "drive"


class Leg(StrEnum):
    """What is to be done, in this order."""

    PUT_BACK = "put-back"
    RESTORE = "restore"
    START = "start"
    HAND_OVER = "hand-over"
    OUTCOME = "outcome"


class WayOn(msgspec.Struct, frozen=True):
    """One thing to do."""

    leg: Leg
    says: str


def way_on(
    case: Case, runs: Sequence[Run], found: Location, tables: Knowledge
) -> tuple[WayOn, ...]:
    """What is left to do; nothing while the repair is not proven, and once the case is closed.

    A hand-over that is itself the first to prove the repair leaves the data and the start.
    """
    ordered = sorted((r for r in runs if not r.in_known_good_machine), key=lambda r: r.number)
    if case.closed or not ordered:
        return ()
    held = compare(ordered, tables.checks, case.spares)
    handed = held is not None and ordered[-1].hand_over and held.signed
    if held is None or not (handed or proven(held, ordered, found)):
        return ()
    declined = not proven(held, ordered, found)
    before = compare(ordered[:-1], tables.checks, case.spares)
    told = declined or (before is not None and proven(before, ordered[:-1], found))
    legs = [leg for leg in _legs(case, found) if not (handed and leg is Leg.HAND_OVER)]
    left = tuple(_leg(leg, case, declined) for leg in (legs[-1:] if handed and told else legs))
    missing = {row.component for row in held.barred if row.state is HandOverState.MISSING}
    return (*_put_back(ordered[0], missing), *left)


def _put_back(came: Run, missing: Container[str]) -> Iterator[WayOn]:
    """What whoever mended it left out, or did not plug in again."""
    if parts := ", ".join(part.name for part in came.inventory.parts if part.id in missing):
        yield WayOn(Leg.PUT_BACK, text("way-on.put-back", parts=parts))


def _leg(leg: Leg, case: Case, declined: bool) -> WayOn:
    """A leg, with what was told at the counter and is needed now."""
    password = words_of(case.told, PASSWORD)
    if leg is Leg.START and password:
        return WayOn(leg, text("way-on.start-password", words=password))
    if leg is Leg.OUTCOME and declined:
        return WayOn(leg, text("way-on.outcome-declined"))
    return WayOn(leg, text(f"way-on.{leg.value}"))


def heading(left: Sequence[WayOn]) -> str:
    """Over what is left to do."""
    handed = all(one.leg is not Leg.HAND_OVER for one in left)
    return text("way-on.handed" if handed else "way-on.heading")


def state_of(found: Location, judged: int) -> str:
    """The side, what is put right or was treated instead, or why there is neither: nothing was
    judged, or nothing failed and no step is left."""
    if not judged:
        return "nothing-judged"
    if found.free:
        return "free"
    if found.put_right is not None:
        return found.put_right
    failed = {one.run for one in found.evidence if one.outcome is Outcome.FAILED}
    step = found.next_step
    if found.side is Side.UNDETERMINED and step is not None and step.action == Action.REPLACE:
        return "trial"
    if found.side is not Side.UNDETERMINED or step is not None:
        return found.side.value
    if not failed:
        return "none-failed"
    return "passes-now" if max(failed) < found.runs else found.side.value


def step_left(case: Case, found: Location) -> NextStep | None:
    """The step that is proposed; none once the case is closed, whatever is left to find out."""
    return None if case.closed else found.next_step


def no_step(case: Case, found: Location, tables: Knowledge, judged: int) -> str:
    """What to do where no step is proposed."""
    if case.closed:
        return text("no-step.closed", outcome=case.outcome or text("method.closed-no-outcome"))
    unit = kind_title(found.unit, tables) if found.unit else text("no-step.unit")
    return text(f"no-step.{state_of(found, judged)}", unit=unit)


def judged_in(runs: Sequence[Run]) -> int:
    """How many readings were judged."""
    return sum(r.outcome is not Outcome.NOT_JUDGED for run in runs for r in run.readings)


def _legs(case: Case, found: Location) -> Iterator[Leg]:
    named = (c.kind for c in found.candidates if c.component == found.component)
    if HOLDS_DATA in named and data_wanted(case.told):
        yield Leg.RESTORE
    yield Leg.START
    yield Leg.HAND_OVER
    yield Leg.OUTCOME


def proven(held: HandOver, runs: Sequence[Run], found: Location) -> bool:
    """Whether what the verdict names was put right and is seen well."""
    barred = any(row.state is not HandOverState.MISSING for row in held.barred)
    if barred or held.lent or held.ended or found.component is None:
        return False
    states = {row.component: row.state for row in held.rows if row.held}
    if states.get(found.component) in (HandOverState.REPLACED, HandOverState.REMOVED):
        return True
    told = any(
        isinstance(one, TREATED) or (isinstance(one, PartIs) and not one.known_good)
        for run in runs for one in run.answers
    )  # fmt: skip
    touched = told or any(run.reseated for run in runs)
    return touched and HandOverState.REPAIRED in states.values()
