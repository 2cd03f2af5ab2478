"""USB ports that switched off for too much current, as readings.

One port that does so speaks of what is plugged in, or of its contacts. Several ports in the
same moment share a supply: one device that shorts it switches all of them off, so that no
port and no other device can be blamed for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.kernel_log import usb
from livecheck.records import KernelEvent, Outcome, Reading

CHECK: Final = "kernel.usb-power"

TOGETHER_SECONDS: Final = 1.0
"""Ports that switch off no further apart than this do so together (assumed)."""


def readings(events: Sequence[KernelEvent]) -> Iterator[Reading]:
    """One reading for each port that switched off alone, one for those that did together."""
    found = [e for e in events if e.says == usb.OVER_CURRENT and e.component is not None]
    alone: dict[str, list[KernelEvent]] = {}
    for burst in _bursts(found):
        if len({event.device for event in burst}) > 1:
            yield _shared(burst)
        else:
            alone.setdefault(burst[0].component or "", []).extend(burst)
    for component, own in alone.items():
        yield Reading(
            check=CHECK,
            at=component,
            outcome=Outcome.FAILED,
            value=len(own),
            unit="incidents",
            source="kernel log",
            says=f"The kernel logged: {usb.OVER_CURRENT}.",
            details=_raw(own),
            device=own[0].device,
        )


def _bursts(events: Sequence[KernelEvent]) -> Iterator[list[KernelEvent]]:
    burst: list[KernelEvent] = []
    for event in sorted(events, key=lambda e: e.seconds):
        if burst and event.seconds - burst[-1].seconds > TOGETHER_SECONDS:
            yield burst
            burst = []
        burst.append(event)
    if burst:
        yield burst


def _shared(burst: Sequence[KernelEvent]) -> Reading:
    ports = sorted({event.device or "" for event in burst})
    return Reading(
        check=CHECK,
        at="machine",
        outcome=Outcome.NOT_JUDGED,
        value=len(ports),
        unit="ports",
        source="kernel log",
        says=f"{len(ports)} USB ports switched off together: too much current was drawn.",
        why_not="they share a supply: unplug everything and plug in one device after the other",
        details=_raw(burst),
    )


def _raw(events: Sequence[KernelEvent]) -> tuple[str, ...]:
    return tuple(f"[{event.seconds:.3f}] {event.raw}" for event in events[:8])
