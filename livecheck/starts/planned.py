"""The plan of starts, and what each start makes of it. Pure.

A start is ordered, arrives (livecheck's first word in it), and is counted once its parts were
looked at. The next start tells of one that did not get so far: by the stick's own note of each
start that mounted it, else by how late it came, switched on by hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import Annotated, Final

import msgspec

from livecheck.records import Complaint, Machine, Part, Record

LATEST_SECONDS: Final = 300.0
"""From when a start is due to its kernel's beginning (assumed: switching off, the firmware's own
tests and a slow stick take two minutes at most)."""
ALARMS_TRIED: Final = 2
"""Cold starts that do not come by the alarm, before it is taken to switch no machine on here."""
MOST: Final = 100
"""Starts of a kind: a plan comes from a drive that others may have written."""
LONGEST_SECONDS: Final = 3600

_Count = Annotated[int, msgspec.Meta(ge=0, le=MOST)]


class StartKind(StrEnum):
    """How a start begins."""

    WARM = "warm"
    COLD = "cold"


class HowFar(StrEnum):
    """How far a start came."""

    OPEN = "ordered"
    BEGUN = "begun"
    """livecheck said its first word in it."""
    CAME = "came"
    LATE = "late"
    """It did not come by itself: the next one was begun by hand."""
    HUNG = "hung"
    """It mounted the stick, or said its first word, and came no further."""


class OneStart(Record, frozen=True, kw_only=True):
    """One start that was ordered."""

    kind: StartKind
    due: float
    """When the machine is to switch on, seconds since 1970 by its own clock."""
    how: HowFar = HowFar.OPEN
    boot: str = ""
    """The kernel's id of it, once it came."""
    after: float | None = None
    """Seconds from when it was due to the kernel's beginning."""
    said: float | None = None
    """Seconds from there to livecheck's first word."""
    gone: tuple[str, ...] = ()
    """Ids of parts that were not there."""
    serious: tuple[str, ...] = ()
    """Lines of its kernel that speak of a fault."""


class StartsPlan(Record, frozen=True, kw_only=True):
    """What was asked for, and the starts so far."""

    warm: _Count = 0
    cold: _Count = 0
    alarm: Annotated[int, msgspec.Meta(ge=0, le=LONGEST_SECONDS)] = 60
    """Seconds that the machine stays off before a cold start."""
    machine: Machine = Machine()
    complaint: Complaint = Complaint.INTAKE
    ticket: str | None = None
    case: str | None = None
    parts: tuple[Part, ...] = ()
    """Fitted when it began."""
    boots: tuple[str, ...] = ()
    """Starts in which the program worked at it."""
    starts: tuple[OneStart, ...] = ()
    stopped: bool = False


class Arrival(msgspec.Struct, frozen=True, kw_only=True):
    """A start, as livecheck finds it at its first word."""

    boot: str
    since: float | None
    """When its kernel began, as ``OneStart.due``; None: unknown."""
    seconds: float = 0.0
    """From there to now."""
    notes: Sequence[str] = ()
    """Ids of all starts of this machine that mounted the stick, in order."""


def following(plan: StartsPlan) -> StartKind | None:
    """What comes next; None: nothing does."""
    if plan.stopped:
        return None
    made = [start.kind for start in plan.starts]
    if made.count(StartKind.WARM) < plan.warm:
        return StartKind.WARM
    if made.count(StartKind.COLD) < plan.cold and not alarmless(plan):
        return StartKind.COLD
    return None


def alarmless(plan: StartsPlan) -> bool:
    """Whether the clock's alarm seems to switch this machine on never."""
    cold = [start for start in plan.starts if start.kind is StartKind.COLD]
    late = [start for start in cold if start.how is HowFar.LATE]
    return len(late) == len(cold) >= min(ALARMS_TRIED, plan.cold) > 0


def ordered(plan: StartsPlan, kind: StartKind, now: float) -> StartsPlan:
    """The plan with the next start, before it is ordered."""
    due = now + (plan.alarm if kind is StartKind.COLD else 0)
    return _with(plan, plan.starts, OneStart(kind=kind, due=due))


def arrived(plan: StartsPlan, here: Arrival) -> StartsPlan:
    """What this start makes of the one that was ordered last."""
    if not plan.starts or plan.boots[-1:] == (here.boot,):
        return plan
    *done, last = plan.starts
    known = {*plan.boots, *(start.boot for start in done), here.boot}
    boot = last.boot or next((one for one in here.notes if one not in known), "")
    after = None if here.since is None else here.since - last.due
    plan = msgspec.structs.replace(plan, boots=(*plan.boots, here.boot))
    if last.how not in (HowFar.OPEN, HowFar.BEGUN):
        return plan
    if boot:
        end = msgspec.structs.replace(last, how=HowFar.HUNG, boot=boot)
    elif after is not None and after > LATEST_SECONDS:
        end = msgspec.structs.replace(last, how=HowFar.LATE, after=after)
    else:
        # A clock that was lost tells a time before the order.
        known_after = after if after is None or after >= -plan.alarm else None
        end = msgspec.structs.replace(
            last, how=HowFar.BEGUN, boot=here.boot, after=known_after, said=here.seconds
        )
    return _with(plan, done, end)


def counted(plan: StartsPlan, gone: Sequence[str], serious: Sequence[str]) -> StartsPlan:
    """The start that goes on now came to its end: its parts were looked at."""
    if not waits(plan):
        return plan
    *done, last = plan.starts
    end = msgspec.structs.replace(last, how=HowFar.CAME, gone=tuple(gone), serious=tuple(serious))
    return _with(plan, done, end)


def waits(plan: StartsPlan) -> bool:
    """Whether the start that goes on now is still to be counted."""
    return bool(plan.starts) and plan.starts[-1].how is HowFar.BEGUN


def _with(plan: StartsPlan, done: Sequence[OneStart], last: OneStart) -> StartsPlan:
    return msgspec.structs.replace(plan, starts=(*done, last))
