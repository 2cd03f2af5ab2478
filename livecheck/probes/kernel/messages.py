"""What the kernel logged since it started, as readings of the components it names.

The events of one check at one component make one reading, so that a hundred lines of one
fault do not weigh like a hundred faults; how many incidents there were is its value.
Silence is a passed check only where nothing was left unread: serious lines that name a
device nobody knows, or lines of the same subsystem that no rule knows, make it not judged.
"""

from __future__ import annotations

import bisect
import itertools
from collections.abc import Callable, Iterator, Sequence
from typing import Final

from livecheck import kernel_log
from livecheck.host import Unreadable
from livecheck.kernel_log import pcie, usb
from livecheck.probes import Context, Yield
from livecheck.probes.kernel import overcurrent, unplugged
from livecheck.probes.kernel.checks import CHECKS, DISKS, KernelCheck
from livecheck.records import Inventory, KernelEvent, NotTested, Outcome, Reading, Record

BURST_SECONDS: Final = 1.0
"""Lines closer than this at one component are one incident: an error report has many lines."""

RECOVERY_SECONDS: Final = 60.0
"""The kernel tries a drive for about a minute before it gives it up (libata-eh.c)."""

FOLLOWING: Final = frozenset({"protocol", "other"})
"""Layers of what a drive says after it was lost."""

MANY_RESETS: Final = 3
"""Resets of one USB device in one start that are no longer plugging or waking up (assumed)."""

START_SECONDS: Final = 60.0
"""The kernel speaks from its first moment on: a buffer that begins later lost it (assumed)."""

SHOWN: Final = 8
"""Raw lines kept with a reading."""

MACHINE: Final = "machine"


class Incidents(Record, frozen=True, kw_only=True):
    """The events of one check at one component."""

    count: int
    events: tuple[KernelEvent, ...]


Spread = Callable[[Incidents], str]
"""How incidents lie in time, in words that follow "the kernel logged"."""


def probe(context: Context) -> Iterator[Yield]:
    """One reading per check and component: failed, passed or not judged."""
    try:
        said = context.host.kernel_log()
    except Unreadable as error:
        yield NotTested(
            what="Kernel messages", why=f"could not be read ({error}); root may read them"
        )
        return
    if said and said[0].seconds > START_SECONDS:
        why = f"the kernel's buffer begins {said[0].seconds:.0f} s after the start: overwritten"
        yield NotTested(what="Kernel messages of the start", why=why)
    events, pulled = unplugged.parted(causes(context.events), context.inventory)
    homeless = [e for e in pulled if e.component is None]
    for check in CHECKS:
        counted = [e for e in events if check.counts(e)]
        lost = [e for e in counted if e.serious and e.component is None and not check.whole_machine]
        homeless += lost
        apart = [e for e in pulled if check.counts(e)]
        yield from _silences(check, [*counted, *apart], lost, context)
        yield from _failures(unplugged.told(check), apart, _times)
    yield from failures(events)
    yield from _left_over(context, homeless)


def failures(events: Sequence[KernelEvent], spread: Spread | None = None) -> Iterator[Reading]:
    """What the events say at the components they were given to, judged or only told.

    ``spread`` says how the incidents of a check lie in time.
    """
    for check in CHECKS:
        counted = [e for e in events if check.counts(e)]
        yield from _failures(check, counted, spread or _times)
    yield from overcurrent.readings(events)
    yield from _corrected(events)


# --- What failed


def causes(events: Sequence[KernelEvent]) -> tuple[KernelEvent, ...]:
    """Without what only follows: a drive that let a command time out, or lost its link, is out
    of step afterwards, and says so; that is no second fault. Many resets are one event more."""
    events = (*events, *_repeated_resets(events))
    firsts: dict[str | None, list[float]] = {}
    for event in events:
        if event.serious and event.subsystem in DISKS and event.layer not in FOLLOWING:
            firsts.setdefault(event.component, []).append(event.seconds)
    return tuple(e for e in events if not _follows(e, firsts.get(e.component, [])))


def _follows(event: KernelEvent, firsts: Sequence[float]) -> bool:
    """``firsts``: when the drive was lost, in the order of time."""
    if event.subsystem not in DISKS or event.layer not in FOLLOWING or not event.serious:
        return False
    before = bisect.bisect_right(firsts, event.seconds)
    return before > 0 and event.seconds - firsts[before - 1] <= RECOVERY_SECONDS


def _failures(
    check: KernelCheck, counted: Sequence[KernelEvent], spread: Spread
) -> Iterator[Reading]:
    for component, events in by_component(check, counted).items():
        found = incidents(events)
        few = found.count < check.at_least
        yield Reading(
            check=check.check,
            at=component,
            outcome=Outcome.NOT_JUDGED if few else Outcome.FAILED,
            value=found.count,
            unit="incidents",
            source="kernel log",
            says=f"The kernel logged {spread(found)}: {found.events[0].says}.",
            why_not=check.why_few if few else None,
            details=raw_lines(found.events),
            device=found.events[0].device,
        )


def by_component(check: KernelCheck, events: Sequence[KernelEvent]) -> dict[str, list[KernelEvent]]:
    """The events by the component a check reads them at."""
    found: dict[str, list[KernelEvent]] = {}
    for event in events:
        component = MACHINE if check.whole_machine else event.component
        if component is not None:
            found.setdefault(component, []).append(event)
    return found


def _times(found: Incidents) -> str:
    if found.count == 1:
        return "once"
    seconds = [event.seconds for event in found.events]
    return f"{found.count} times in {max(seconds) - min(seconds):.0f} s"


def incidents(events: Sequence[KernelEvent]) -> Incidents:
    """Events counted in bursts."""
    times = sorted(event.seconds for event in events)
    gaps = sum(later - sooner > BURST_SECONDS for sooner, later in itertools.pairwise(times))
    return Incidents(count=gaps + 1 if times else 0, events=tuple(events))


def raw_lines(events: Sequence[KernelEvent]) -> tuple[str, ...]:
    """The first lines, as the kernel wrote them."""
    return tuple(f"[{event.seconds:.3f}] {event.raw}" for event in events[:SHOWN])


# --- What silence is worth


def _silences(
    check: KernelCheck,
    counted: Sequence[KernelEvent],
    lost: Sequence[KernelEvent],
    context: Context,
) -> Iterator[Reading]:
    """A component with no serious line passes, unless lines went unread that might be its own."""
    unread = [e for e in kernel_log.unknown(context.events) if e.subsystem in check.subsystems]
    failed = by_component(check, counted)
    for component in _able(check, context.inventory):
        if component in failed:
            continue
        own = [e for e in unread if e.component in (component, None) or check.whole_machine]
        if lost or own:
            yield _unheard(check, component, lost, own)
        else:
            yield Reading(
                check=check.check,
                at=component,
                outcome=Outcome.PASSED,
                value=0,
                unit="incidents",
                source="kernel log",
                says=_quiet(check, context),
            )


def _quiet(check: KernelCheck, context: Context) -> str:
    """What silence answers: each check its own question."""
    row = context.knowledge.checks.get(check.check)
    asked = f"{row.question} " if row is not None else ""
    return f"{asked}Nothing of that kind is in the kernel's log since it started."


def _able(check: KernelCheck, found: Inventory) -> list[str]:
    if check.whole_machine:
        return [MACHINE] if MACHINE in check.kinds else []
    parts = [part.id for part in found.parts if part.kind in check.kinds]
    return [*parts, *(one.id for one in found.controllers if one.kind in check.kinds)]


def _unheard(
    check: KernelCheck, component: str, lost: Sequence[KernelEvent], unread: Sequence[KernelEvent]
) -> Reading:
    why = (
        f"{len(lost)} serious message(s) of this kind name a device that is not there"
        if lost
        else f"{len(unread)} message(s) of this subsystem are not known to livecheck"
    )
    return Reading(
        check=check.check,
        at=component,
        outcome=Outcome.NOT_JUDGED,
        source="kernel log",
        why_not=why,
        details=raw_lines(lost or unread),
    )


# --- What is told and not judged


def _repeated_resets(events: Sequence[KernelEvent]) -> tuple[KernelEvent, ...]:
    """A USB device that is reset again and again: one more serious event for it."""
    resets: dict[str, list[KernelEvent]] = {}
    for event in events:
        if event.subsystem == "usb" and event.says == usb.RESET and event.component:
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


def _corrected(events: Sequence[KernelEvent]) -> Iterator[Reading]:
    """Corrected PCI Express errors: sent again, nothing lost; sound machines log thousands."""
    repaired: dict[str, list[KernelEvent]] = {}
    for event in events:
        if event.subsystem == "pcie" and event.says.endswith(pcie.CORRECTED) and event.component:
            repaired.setdefault(event.component, []).append(event)
    for component, found in repaired.items():
        yield Reading(
            check="kernel.pcie-corrected",
            at=component,
            outcome=Outcome.NOT_JUDGED,
            value=len(found),
            unit="messages",
            source="kernel log",
            why_not="corrected errors lost nothing; counters under load judge the link",
            details=raw_lines(found),
            device=found[0].device,
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
                details=raw_lines(events),
            )
