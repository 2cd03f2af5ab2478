"""A run taken from a machine: what is asked for, what is there, what the probes find."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import msgspec

from livecheck import __version__, inventory, kernel_log
from livecheck.capture import CapturedHost, RecordingHost
from livecheck.host import Host, KernelMessage, Unreadable
from livecheck.probes import Context, Probe, Span, registry, runner
from livecheck.probes.control import NONE, Control
from livecheck.records import (
    COMPLAINT,
    FITTED,
    INSIDE,
    NOWHERE,
    OUTSIDE,
    Answer,
    Complaint,
    Inventory,
    Knowledge,
    NotTested,
    Outcome,
    Place,
    Presence,
    Reading,
    Run,
)

QUICK: Final = "quick"
FULL: Final = "full"


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
    elsewhere: bool = False
    span: Span | None = None
    """Reading drives: only this stretch."""
    case: str | None = None
    """Id of the open case the run goes on with; None: found by ticket, else by the machine."""
    cannot: tuple[str, ...] = ()
    """Actions this bench rules out from now on, such as ``no spare: drive``."""
    can: tuple[str, ...] = ()
    """Actions ruled out before that can be done now."""
    readings: tuple[Reading, ...] = ()
    """What guided checks gave before the run."""
    left_out: tuple[NotTested, ...] = ()
    """Guided checks that were left out."""
    hand_over: bool = False
    """The last run before the machine goes back: every probe there is."""
    soak_hours: float = 0.0
    """Hours of load at a hand-over."""


STICK: Final = ("/run/live/medium", "/media/shopdrive")
"""Where the bootable stick's partitions are mounted (image-build/overlay)."""


def with_stick(found: Inventory, mounted: Sequence[tuple[str, str]]) -> Inventory:
    """The inventory with the drive marked that the program was started from: the bench's own.

    ``mounted``: (mount point, device) of what is mounted.
    """
    names = {device.rpartition("/")[2] for point, device in mounted if point in STICK}
    own = {d.component for d in found.devices if d.subsystem == "block" and d.name in names}
    parts = tuple(
        msgspec.structs.replace(part, bench_own=True) if part.id in own else part
        for part in found.parts
    )
    return msgspec.structs.replace(found, parts=parts)


SHOWS: Final = {
    INSIDE: (True, False, "The complaint was seen in the installed system, and not outside it."),
    OUTSIDE: (None, True, "The complaint was seen outside the installed system."),
    NOWHERE: (False, False, "The complaint was seen nowhere."),
}
"""By the answer: whether it showed in the installed system, and outside it; what to say."""


def where_it_shows(answers: Sequence[Answer]) -> tuple[Reading, ...]:
    """What the technician saw of the complaint, as readings of the whole machine."""
    told = next((a.says for a in answers if a.about == COMPLAINT), "")
    if told not in SHOWS:
        return ()
    *seen, says = SHOWS[told]
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


SEEMING: Final = frozenset({"power-jack", "battery-bay"})
"""Kinds of places where an empty one and one whose part is silent look alike."""


def told_of(found: Inventory, answers: Sequence[Answer]) -> Inventory:
    """The inventory with the parts that the technician sees in places where none answers.

    ``Answer(about=place id, says="fitted")``: the part is there, and it is silent.
    """
    taken = {part.place for part in found.parts}
    about = {a.about for a in answers if a.says.strip().lower() in FITTED}
    silent = {
        place.id: msgspec.structs.replace(
            place,
            presence=Presence.NOTHING_ANSWERS,
            told_fitted=True,
        )
        for place in found.places
        if place.id in about - taken
    }
    places = tuple(silent.get(place.id, place) for place in found.places)
    return msgspec.structs.replace(found, places=places)


def seem_empty(found: Inventory) -> tuple[Place, ...]:
    """Jacks and battery bays of which only the technician knows whether they are empty.

    None of the jacks while power comes in at one: the others then are not in use.
    """
    taken = {part.place for part in found.parts}
    open_places = [p for p in found.places if p.kind in SEEMING]
    fed = any(p.id in taken for p in open_places if p.kind == "power-jack")
    return tuple(
        p for p in open_places if p.id not in taken and not (fed and p.kind == "power-jack")
    )


OnEvent = Callable[[runner.Event], None]
OnPart = Callable[[Run], None]


def chosen(plan: Plan) -> tuple[Probe, ...]:
    """The probes a plan runs, in the registry's order."""
    if plan.hand_over:
        return tuple(_soaking(p, plan) for p in registry.ALL if plan.soak_hours or not p.opt_in)
    if plan.probes is not None:
        return tuple(p for p in registry.ALL if p.name in plan.probes)
    return tuple(
        p
        for p in registry.ALL
        if p.passive
        or (not p.opt_in and (not p.complaints or plan.complaint.value in p.complaints))
    )


def _soaking(probe: Probe, plan: Plan) -> Probe:
    """A soak may last its hours, and some minutes for taking and giving back memory."""
    if not probe.opt_in:
        return probe
    return msgspec.structs.replace(probe, deadline=plan.soak_hours * 3600 + 600)


def begin(host: Host, plan: Plan) -> tuple[Run, tuple[KernelMessage, ...]]:
    """Inventory and kernel messages: an unfinished run, and the raw log."""
    scoped = host.scope("inventory")
    facts = scoped.facts()
    found = told_of(inventory.take(scoped), plan.answers)
    messages, gaps = _kernel_messages(scoped)
    run = Run(
        number=0,
        started=facts.now,
        complaint=plan.complaint,
        depth=plan.depth,
        inventory=found,
        events=kernel_log.attach(kernel_log.events(messages), found),
        readings=(*plan.readings, *where_it_shows(plan.answers)),
        not_tested=(*gaps, *plan.left_out),
        answers=plan.answers,
        known_good=plan.known_good,
        reseated=plan.reseated,
        elsewhere=plan.elsewhere,
        hand_over=plan.hand_over,
        soak_hours=plan.soak_hours or None,
        kernel=facts.kernel,
        program=__version__,
        as_root=facts.as_root,
        finished=False,
    )
    return run, messages


def probe(
    host: Host,
    run: Run,
    plan: Plan,
    judge_by: Knowledge,
    on_event: OnEvent = lambda event: None,
    on_part: OnPart = lambda run: None,
    stopped: Callable[[], bool] = lambda: False,
    wishes: Control = NONE,
) -> Run:
    """Run the plan's probes on a begun run; returns it finished.

    ``on_part`` is given the run so far after the passive and after each active probe.
    """
    clock = host.scope("session").clock
    begun = clock()
    wanted = chosen(plan)
    # A replay has no machine to load: only what looks can be played again.
    probes = tuple(p for p in wanted if p.passive or not isinstance(host, CapturedHost))
    groups = [[p for p in probes if p.passive], *([p] for p in probes if not p.passive)]
    for index, group in enumerate(groups):
        if index:
            on_part(run)
        results, run = _probe_group(host, run, group, plan, judge_by, on_event, stopped, wishes)
        run = msgspec.structs.replace(
            run,
            readings=(*run.readings, *results.readings),
            not_tested=(*run.not_tested, *results.not_tested),
            probes=(*run.probes, *results.probes),
        )
    if len(groups) > 1 and not stopped():
        run = _read_log_again(host, run, plan, judge_by, on_event)
    missed = tuple(
        NotTested(
            what=p.title,
            why="a replay has no machine to load"
            if p.name in {one.name for one in wanted}
            else "not asked for in this run",
        )
        for p in registry.ALL
        if p.name not in {one.name for one in probes}
    )
    return msgspec.structs.replace(
        run,
        not_tested=(*run.not_tested, *missed),
        seconds=round(clock() - begun, 3),
        finished=not stopped(),
    )


def _probe_group(
    host: Host,
    run: Run,
    group: Sequence[Probe],
    plan: Plan,
    judge_by: Knowledge,
    on_event: OnEvent,
    stopped: Callable[[], bool],
    wishes: Control,
) -> tuple[runner.Results, Run]:
    """Run some probes at the run's depth; one that is asked for more depth begins anew.

    The run comes back with the depth it has by then.
    """
    active = not any(probe.passive for probe in group)

    def asked() -> bool:
        return active and run.depth == QUICK and wishes.deepened()

    if asked():
        run = msgspec.structs.replace(run, depth=FULL)
    context = Context(
        host=host,
        inventory=run.inventory,
        events=run.events,
        knowledge=judge_by,
        depth=run.depth,
        span=plan.span,
        soak_seconds=plan.soak_hours * 3600,
    )
    results = runner.run(group, context, on_event, lambda: stopped() or asked(), wishes)
    if asked() and not stopped():
        run = msgspec.structs.replace(run, depth=FULL)
        deep = msgspec.structs.replace(context, depth=FULL)
        results = runner.run(group, deep, on_event, stopped, wishes)
    if isinstance(host, RecordingHost):
        host.merge(results.scopes)
    return results, run


def _read_log_again(
    host: Host, run: Run, plan: Plan, judge_by: Knowledge, on_event: OnEvent
) -> Run:
    """What the kernel logged by the end, where load brought something new to light.

    A drive read for the first time, a link under load: the first look at the log could
    not know. Its readings give way to those of the second look.
    """
    probe = registry.BY_NAME["kernel"]
    messages, _ = _kernel_messages(host.scope("inventory"))
    events = kernel_log.attach(kernel_log.events(messages), run.inventory)
    if len(events) <= len(run.events) or probe.name not in {p.probe for p in run.probes}:
        return run
    fresh = msgspec.structs.replace(run, events=events)
    results, _ = _probe_group(host, fresh, [probe], plan, judge_by, on_event, lambda: False, NONE)
    if not results.readings:
        return fresh
    before = tuple(r for r in run.readings if not r.check.startswith("kernel."))
    return msgspec.structs.replace(fresh, readings=(*before, *results.readings))


def _kernel_messages(host: Host) -> tuple[tuple[KernelMessage, ...], tuple[NotTested, ...]]:
    try:
        return host.kernel_log(), ()
    except Unreadable as error:
        why = f"the kernel's messages could not be read ({error}); run as root"
        return (), (NotTested(what="Kernel messages", why=why, at="machine"),)
