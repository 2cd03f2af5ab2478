"""What the kernel logged since it started, as readings of the components it names.

The events of one layer at one component make one reading, so that a hundred lines
of one fault do not weigh like a hundred faults. A component of the right kind
with none is a passed check.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from livecheck import kernel_log
from livecheck.host import Unreadable
from livecheck.probes import Context, Yield
from livecheck.records import KernelEvent, NotTested, Outcome, Reading, Record

BURST_SECONDS: Final = 1.0
"""Lines closer than this at one component are one incident: an error report has many lines."""

MANY_RESETS: Final = 3
"""Resets of one USB device in one start that are no longer plugging or waking up (assumed)."""

SHOWN: Final = 8
"""Raw lines kept with a reading."""

MACHINE: Final = "machine"


class Rule(NamedTuple):
    """Which events a check counts, and at which kinds of component it can pass."""

    check: str
    subsystems: frozenset[str]
    layers: frozenset[str]
    kinds: frozenset[str]
    whole_machine: bool = False
    """True: events are counted for the machine, not for the component they name."""


_DISKS: Final = frozenset({"ata", "scsi", "block", "nvme"})
_DRIVES: Final = frozenset({"drive", "optical-drive"})

RULES: Final = (
    Rule("kernel.storage-medium", _DISKS, frozenset({"medium"}), _DRIVES),
    Rule("kernel.storage-link", _DISKS, frozenset({"link"}), _DRIVES),
    Rule("kernel.storage-timeout", _DISKS, frozenset({"timeout"}), _DRIVES),
    Rule("kernel.storage-host-bus", _DISKS, frozenset({"host bus"}), _DRIVES),
    Rule("kernel.storage-protocol", _DISKS, frozenset({"protocol", "other"}), _DRIVES),
    Rule(
        "kernel.mmc",
        frozenset({"mmc"}),
        frozenset({"link", "timeout", "protocol", "host bus", "medium"}),
        frozenset({"sd-card"}),
    ),
    Rule(
        "kernel.pcie",
        frozenset({"pcie"}),
        frozenset({"link", "protocol", "timeout", "host bus"}),
        frozenset({"wireless-card", "expansion-card", "network-adapter"}),
    ),
    Rule(
        "kernel.usb",
        frozenset({"usb"}),
        frozenset({"link", "timeout", "protocol"}),
        frozenset({"usb-device", "camera"}),
    ),
    Rule(
        "kernel.usb-host",
        frozenset({"usb"}),
        frozenset({"host bus"}),
        frozenset({"usb-controller"}),
    ),
    Rule("kernel.usb-power", frozenset({"usb"}), frozenset({"power"}), frozenset()),
    Rule(
        "kernel.wireless",
        frozenset({"wireless"}),
        frozenset({"protocol", "timeout", "host bus", "link"}),
        frozenset({"wireless-card"}),
    ),
    Rule(
        "kernel.graphics",
        frozenset({"graphics"}),
        frozenset({"graphics", "host bus"}),
        frozenset({"display-controller"}),
    ),
    Rule(
        "kernel.machine-check",
        frozenset({"machine check"}),
        frozenset({"machine check", "host bus"}),
        frozenset(),
        True,
    ),
    Rule("kernel.thermal", frozenset({"thermal"}), frozenset({"thermal"}), frozenset(), True),
    Rule("kernel.firmware", frozenset({"firmware"}), frozenset({"firmware"}), frozenset(), True),
)


class Incidents(Record, frozen=True, kw_only=True):
    """The events of one check at one component."""

    count: int
    events: tuple[KernelEvent, ...]


def probe(context: Context) -> Iterator[Yield]:
    """One reading per check and component, failed or passed."""
    try:
        context.host.kernel_log()
    except Unreadable as error:
        yield NotTested(
            what="Kernel messages", why=f"could not be read ({error}); root may read them"
        )
        return
    events = (*context.events, *_repeated_resets(context.events))
    homeless: list[KernelEvent] = []
    for rule in RULES:
        chosen = [e for e in events if _counts(rule, e)]
        homeless += [e for e in chosen if e.component is None and not rule.whole_machine]
        yield from _readings(rule, chosen, context)
    yield from _left_over(context, homeless)


def _counts(rule: Rule, event: KernelEvent) -> bool:
    return event.serious and event.subsystem in rule.subsystems and event.layer in rule.layers


def _readings(rule: Rule, chosen: Sequence[KernelEvent], context: Context) -> Iterator[Reading]:
    by_component: dict[str, list[KernelEvent]] = {}
    for event in chosen:
        component = MACHINE if rule.whole_machine else event.component
        if component is not None:
            by_component.setdefault(component, []).append(event)
    for component, events in by_component.items():
        yield _failed(rule.check, component, incidents(events))
    inventory = context.inventory
    able = [part.id for part in inventory.parts if part.kind in rule.kinds]
    able += [one.id for one in inventory.controllers if one.kind in rule.kinds]
    for component in [MACHINE] if rule.whole_machine else able:
        if component not in by_component:
            yield Reading(
                check=rule.check,
                at=component,
                outcome=Outcome.PASSED,
                value=0,
                unit="incidents",
                source="kernel log",
                says="The kernel logged no such trouble since it started.",
            )


def _failed(check: str, component: str, found: Incidents) -> Reading:
    first = found.events[0]
    times = "once" if found.count == 1 else f"{found.count} times"
    return Reading(
        check=check,
        at=component,
        outcome=Outcome.FAILED,
        value=found.count,
        unit="incidents",
        source="kernel log",
        says=f"The kernel logged {times}: {first.says}.",
        details=tuple(f"[{e.seconds:.3f}] {e.raw}" for e in found.events[:SHOWN]),
        device=first.device,
    )


def incidents(events: Sequence[KernelEvent]) -> Incidents:
    """Events counted in bursts."""
    times = sorted(event.seconds for event in events)
    gaps = sum(later - sooner > BURST_SECONDS for sooner, later in itertools.pairwise(times))
    return Incidents(count=gaps + 1 if times else 0, events=tuple(events))


def _repeated_resets(events: Sequence[KernelEvent]) -> tuple[KernelEvent, ...]:
    """A USB device that is reset again and again: one more serious event for it."""
    resets: dict[str, list[KernelEvent]] = {}
    for event in events:
        if event.subsystem == "usb" and event.says == "the device was reset" and event.component:
            resets.setdefault(event.component, []).append(event)
    return tuple(
        KernelEvent(
            seconds=found[-1].seconds,
            layer="link",
            device=found[-1].device,
            says=f"the device was reset {len(found)} times",
            raw=found[-1].raw,
            subsystem="usb",
            component=component,
        )
        for component, found in resets.items()
        if len(found) >= MANY_RESETS
    )


def _left_over(context: Context, homeless: Sequence[KernelEvent]) -> Iterator[Yield]:
    """Lines that could be given to no component, and lines no rule knows: shown, not judged."""
    for what, events, why in (
        (
            "kernel.unplaced",
            homeless,
            "these messages name a device that is no longer there, or none at all",
        ),
        (
            "kernel.unknown",
            kernel_log.unknown(context.events),
            "livecheck knows the subsystem but not these messages",
        ),
    ):
        if events:
            yield Reading(
                check=what,
                at=MACHINE,
                outcome=Outcome.NOT_JUDGED,
                value=len(events),
                unit="messages",
                source="kernel log",
                why_not=why,
                details=tuple(f"[{e.seconds:.3f}] {e.raw}" for e in events[:SHOWN]),
            )
