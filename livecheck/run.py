"""One run taken from a machine: its context, its beginning, its probes.

``livecheck.saving`` brings a run into its case.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from typing import Final

import msgspec

from livecheck import __version__, inventory, kernel_log
from livecheck.capture import CapturedHost, RecordingHost
from livecheck.host import Host, KernelMessage, Unreadable
from livecheck.plan import FULL, QUICK, Plan, complaint_readings, planned_probes
from livecheck.probes import Context, Probe, registry, runner
from livecheck.probes.control import NONE, Control
from livecheck.records import (
    Inventory,
    Knowledge,
    NotTested,
    Run,
)
from livecheck.records.answer_words import placed
from livecheck.topology.answers import apply_answers

OnEvent = Callable[[runner.Event], None]


class RunControl(msgspec.Struct, frozen=True, kw_only=True):
    """Who follows a run, and who may end it or change its course."""

    on_event: OnEvent = lambda event: None
    on_part: Callable[[Run], None] = lambda run: None
    """Given the run so far, after the passive and after each active probe."""
    stopped: Callable[[], bool] = lambda: False
    orders: Control = NONE


class RunContext(msgspec.Struct, frozen=True, kw_only=True):
    """What one run needs from its beginning to its end."""

    host: Host
    plan: Plan
    knowledge: Knowledge
    control: RunControl = RunControl()


MOST_CHARACTERS: Final = 4 << 20
"""Of kernel messages in a run. The kernel keeps 128 KiB to 1 MiB where nobody asks for more
(CONFIG_LOG_BUF_SHIFT, init/Kconfig)."""

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


def begin(host: Host, plan: Plan) -> tuple[Run, tuple[KernelMessage, ...]]:
    """Inventory and kernel messages: an unfinished run, and the raw log."""
    scoped = host.scope("inventory")
    facts = scoped.facts()
    found = inventory.take(scoped)
    answers = tuple(placed(answer, found) for answer in plan.answers)
    found = apply_answers(found, answers)
    messages, gaps = _kernel_messages(scoped)
    run = Run(
        number=0,
        started=facts.now,
        complaint=plan.complaint,
        depth=plan.depth,
        inventory=found,
        events=kernel_log.attach(kernel_log.events(messages), found),
        readings=(*plan.readings, *complaint_readings(answers)),
        not_tested=(*gaps, *plan.left_out),
        answers=answers,
        known_good=plan.known_good,
        reseated=plan.reseated,
        in_known_good_machine=plan.in_known_good_machine,
        hand_over=plan.hand_over,
        soak_hours=plan.soak_hours or None,
        kernel=facts.kernel,
        program=__version__,
        as_root=facts.as_root,
        finished=False,
    )
    return run, messages


def take_run(context: RunContext) -> Run:
    """A whole run without saving it (replays, captures, tests)."""
    run, _ = begin(context.host, context.plan)
    return run_probes(run, context)


def record_machine(host: Host, tables: Knowledge) -> RecordingHost:
    """Everything the inventory and the passive probes read, ready to be written out."""
    recording = RecordingHost(host)
    plan = Plan(probes=tuple(p.name for p in registry.ALL if p.passive))
    take_run(RunContext(host=recording, plan=plan, knowledge=tables))
    return recording


def run_probes(run: Run, context: RunContext) -> Run:
    """Run the plan's probes on a begun run; returns it finished."""
    host, control = context.host, context.control
    clock = host.scope("session").clock
    begun = clock()
    wanted = planned_probes(context.plan)
    # A replay has no machine to load: only what looks can be played again.
    probes = tuple(p for p in wanted if p.passive or not isinstance(host, CapturedHost))
    groups = [[p for p in probes if p.passive], *([p] for p in probes if not p.passive)]
    for index, group in enumerate(groups):
        if index:
            control.on_part(run)
        results, run = _probe_group(run, group, context)
        run = msgspec.structs.replace(
            run,
            readings=(*run.readings, *results.readings),
            not_tested=(*run.not_tested, *results.not_tested),
            probes=(*run.probes, *results.probes),
        )
    if len(groups) > 1 and not control.stopped():
        run = _read_log_again(run, context)
    return msgspec.structs.replace(
        run,
        not_tested=(*run.not_tested, *_missed(wanted, probes), *_not_begun(run, probes)),
        seconds=max(0.0, round(clock() - begun, 3)),
        finished=not control.stopped(),
        stopped=control.stopped(),
    )


def _missed(wanted: Sequence[Probe], made: Sequence[Probe]) -> tuple[NotTested, ...]:
    """Every probe that was not made, and why."""
    asked = {p.name for p in wanted}
    names = {p.name for p in made}
    replayed, not_asked = "a replay has no machine to load", "not asked for in this run"
    return tuple(
        NotTested(what=p.title, why=replayed if p.name in asked else not_asked)
        for p in registry.ALL
        if p.name not in names
    )


def _not_begun(run: Run, probes: Sequence[Probe]) -> tuple[NotTested, ...]:
    """Probes whose turn never came."""
    begun = {p.probe for p in run.probes}
    why = "the run was stopped by the technician before"
    return tuple(NotTested(what=p.title, why=why) for p in probes if p.name not in begun)


def _probe_group(
    run: Run, group: Sequence[Probe], context: RunContext
) -> tuple[runner.Results, Run]:
    """Run some probes at the run's depth; one that is asked for more depth begins anew.

    The run comes back with the depth it has by then.
    """
    active = not any(probe.passive for probe in group)
    control, plan = context.control, context.plan

    def deepened() -> bool:
        return active and run.depth == QUICK and control.orders.deepened()

    if deepened():
        run = msgspec.structs.replace(run, depth=FULL)
    given = Context(
        host=context.host,
        inventory=run.inventory,
        events=run.events,
        knowledge=context.knowledge,
        depth=run.depth,
        span=plan.span,
        soak_seconds=plan.soak_hours * 3600,
    )
    stopped, orders = control.stopped, control.orders
    results = runner.run(group, given, control.on_event, lambda: stopped() or deepened(), orders)
    if deepened() and not stopped():
        run = msgspec.structs.replace(run, depth=FULL)
        deep = msgspec.structs.replace(given, depth=FULL)
        results = runner.run(group, deep, control.on_event, stopped, orders)
    if isinstance(context.host, RecordingHost):
        context.host.merge(results.scopes)
    return results, run


HEAT: Final = "kernel.thermal"


def _read_log_again(run: Run, context: RunContext) -> Run:
    """What the kernel logged by the end, where load brought something new to light.

    A drive read for the first time, a link under load: the first look at the log could
    not know. Its readings give way to those of the second look; not so heat, of which a
    first look speaks while nothing loads the machine: under load other checks have limits.
    """
    probe = registry.BY_NAME["kernel"]
    messages, _ = _kernel_messages(context.host.scope("inventory"))
    events = kernel_log.attach(kernel_log.events(messages), run.inventory)
    if len(events) <= len(run.events) or probe.name not in {p.probe for p in run.probes}:
        return run
    fresh = msgspec.structs.replace(run, events=events)
    control = RunControl(on_event=context.control.on_event)
    results, _ = _probe_group(fresh, [probe], msgspec.structs.replace(context, control=control))
    if not results.readings:
        return fresh
    before = [r for r in run.readings if not r.check.startswith("kernel.") or r.check == HEAT]
    later = [r for r in results.readings if r.check != HEAT]
    return msgspec.structs.replace(fresh, readings=(*before, *later))


def _kernel_messages(host: Host) -> tuple[tuple[KernelMessage, ...], tuple[NotTested, ...]]:
    try:
        messages = host.kernel_log()
    except Unreadable as error:
        why = f"the kernel's messages could not be read ({error}); run as root"
        return (), (NotTested(what="Kernel messages", why=why, at="machine"),)
    told = itertools.accumulate(len(message.text) for message in messages)
    kept = sum(characters <= MOST_CHARACTERS for characters in told)
    if kept == len(messages):
        return messages, ()
    why = f"the kernel's log is longer than {MOST_CHARACTERS >> 20} MiB: its begin was read"
    return messages[:kept], (NotTested(what="Later kernel messages", why=why, at="machine"),)
