"""What the technician asked for, and which probes that calls for."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.probes import Probe, Span, registry
from livecheck.records import (
    Answer,
    Complaint,
    ComplaintShows,
    NotTested,
    Outcome,
    Reading,
    ToldLine,
    WhereShown,
)

QUICK: Final = "quick"
FULL: Final = "full"
WORKSHEETS: Final = frozenset({Complaint.NO_POWER, Complaint.NO_PICTURE})
"""Complaints of machines that cannot be started: measurements take the place of probes."""
BY_EYE: Final = frozenset({Complaint.WRONG_PICTURE})
"""Complaints whose measurements are looks, which the guided checks ask for."""


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """What the technician asked for."""

    complaint: Complaint = Complaint.INTAKE
    depth: str = QUICK
    probes: tuple[str, ...] | None = None
    """Names of the registry; None: what the complaint calls for."""
    ticket: str | None = None
    answers: tuple[Answer, ...] = ()
    known_good: tuple[str, ...] = ()
    reseated: tuple[str, ...] = ()
    in_known_good_machine: bool = False
    span: Span | None = None
    """Reading drives: only this stretch."""
    case: str | None = None
    """Id of the open case the run goes on with; None: found by ticket, else by the machine."""
    cannot: tuple[str, ...] = ()
    """Actions this bench rules out from now on, such as ``no spare: drive``."""
    can: tuple[str, ...] = ()
    """Actions ruled out before that can be done now."""
    told: tuple[ToldLine, ...] = ()
    """Lines of the intake sheet, and notes."""
    readings: tuple[Reading, ...] = ()
    """What guided checks gave before the run."""
    left_out: tuple[NotTested, ...] = ()
    """Guided checks that were left out."""
    hand_over: bool = False
    """The last run before the machine goes back: every probe there is."""
    same_machine: bool = True
    """Said to be the case's machine, whatever it tells of itself."""
    soak_hours: float = 0.0
    """Hours of load on processor and memory."""


class SleepAsked(msgspec.Struct, frozen=True, kw_only=True):
    """Sleeping and waking by the clock: how often, and for how many seconds."""

    times: int = 3
    seconds: int = 20


def planned_probes(plan: Plan) -> tuple[Probe, ...]:
    """The probes a plan runs, in the registry's order."""
    if plan.hand_over:
        return tuple(_soaking(p, plan) for p in registry.ALL if plan.soak_hours or not p.opt_in)
    if plan.probes is not None:
        return tuple(_soaking(p, plan) for p in registry.ALL if p.name in plan.probes)
    return tuple(
        _soaking(p, plan)
        for p in registry.ALL
        if p.passive
        or (p.opt_in and plan.soak_hours)
        or (not p.opt_in and (not p.complaints or plan.complaint.value in p.complaints))
    )


def _soaking(probe: Probe, plan: Plan) -> Probe:
    """A soak may last its hours, and some minutes for taking and giving back memory."""
    if not (probe.opt_in and plan.soak_hours):
        return probe
    return msgspec.structs.replace(probe, deadline=plan.soak_hours * 3600 + 600)


SHOWS: Final = {
    WhereShown.INSIDE: (
        True,
        False,
        "The complaint was seen in the installed system, and not outside it.",
    ),
    WhereShown.OUTSIDE: (None, True, "The complaint was seen outside the installed system."),
    WhereShown.NOWHERE: (False, False, "The complaint was seen nowhere."),
}
"""By the answer: whether it showed in the installed system, and outside it; what to say."""


def complaint_readings(answers: Sequence[Answer]) -> tuple[Reading, ...]:
    """What the technician saw of the complaint, as readings of the whole machine."""
    shown = next((a.where for a in answers if isinstance(a, ComplaintShows)), None)
    if shown is None:
        return ()
    *seen, says = SHOWS[shown]
    return tuple(
        Reading(
            check=check,
            at="machine",
            outcome=Outcome.FAILED if shows else Outcome.PASSED,
            source="the technician",
            says=says,
        )
        for check, shows in zip(("complaint.inside", "complaint.outside"), seen, strict=True)
        if shows is not None
    )
