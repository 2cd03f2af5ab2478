"""Putting the machine to sleep and waking it by its own clock, and what is gone afterwards.

Only on request: ``explained`` says what will happen before ``nap`` does it. ``rtcwake``
(util-linux) sets the clock's alarm and sleeps as /sys/power/mem_sleep says (Linux
Documentation/admin-guide/pm/sleep-states.rst). The machine slept for as long as the calendar
went on while the monotonic clock stood still.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

import msgspec

from livecheck import host as hosts
from livecheck import inventory, kernel_log
from livecheck.host import Host, KernelMessage, Unreadable
from livecheck.records import Inventory, Knowledge, Outcome, Part, Reading

SETTLE_SECONDS: Final = 10.0
"""After waking, for devices that come back slowly (assumed)."""

PATIENCE_SECONDS: Final = 120.0
"""Beyond the sleep itself, for going to sleep and waking."""

SHARE: Final = 0.5
"""Of the time asked for, from which on the machine did sleep."""

CAUTIONS: Final = ("data",)
SHOWN: Final = 8
SOURCE: Final = "rtcwake -m mem"

_WOKEN: Final = "something woke it at once (unplug what is plugged in, and try again)"

STAY: Final = frozenset(
    {"drive", "optical-drive", "sd-card", "wireless-card", "network-adapter", "expansion-card"}
    | {"camera", "touchpad", "usb-device", "battery", "adapter", "memory-module"}
)
"""Kinds of parts that a machine that slept has as before."""


class CannotSleep(Exception):
    """The machine cannot be put to sleep and woken by its clock; says what to try."""


class Nap(msgspec.Struct, frozen=True, kw_only=True):
    """One sleep."""

    slept: bool
    trouble: str | None
    """Why it did not; None: it did, or says nothing."""
    gone: tuple[Part, ...]
    serious: tuple[str, ...]
    """Lines that the kernel wrote meanwhile and that speak of a fault."""


def kind(host: Host) -> str:
    """``deep`` or ``s2idle``: how this machine sleeps. Raises CannotSleep."""
    try:
        as_root = host.facts().as_root
    except Unreadable:
        as_root = False  # A machine that was recorded is not here.
    if not as_root:
        raise CannotSleep("only root may put the machine to sleep (run as root)")
    states = hosts.text(host, "/sys/power/state") or ""
    if "mem" not in states.split():
        raise CannotSleep("this machine, or its kernel, knows no sleep")
    if "wakealarm" not in host.names("/sys/class/rtc/rtc0"):
        raise CannotSleep("its clock cannot wake it: put it to sleep by hand and look afterwards")
    named = hosts.text(host, "/sys/power/mem_sleep") or ""
    return named.partition("[")[2].partition("]")[0] or "the only one it knows"


def explained(times: int, seconds: int, how: str, tables: Knowledge) -> list[str]:
    """What will happen, and what to heed."""
    return [
        f"The machine goes to sleep {times} time(s) ({how}) and is woken by its own clock after "
        f"{seconds} s; then what is left of its parts is looked at. Save what is open, and leave "
        "the stick in. If it does not wake, press its power button once; if that does not help, "
        "hold it: that it did not wake is the finding then.",
        *(tables.cautions[name].text for name in CAUTIONS if name in tables.cautions),
    ]


def nap(host: Host, before: Inventory, seconds: int) -> Nap:
    """Sleep once, and look at what is left. Raises CannotSleep where rtcwake is not there."""
    before_it = log(host)
    began, ticks = _now(host), host.clock()
    words = ["rtcwake", "-m", "mem", "-s", str(seconds)]
    result = host.command(words, seconds + PATIENCE_SECONDS)
    away = (_now(host) - began).total_seconds() - (host.clock() - ticks)
    trouble = result.trouble
    if result.trouble is not None and "not installed" in result.trouble:
        raise CannotSleep(f"{result.trouble} (install util-linux)")
    if trouble is None and result.status != 0:
        trouble = result.err.decode("utf-8", "replace").strip() or f"status {result.status}"
    host.wait(SETTLE_SECONDS)
    left = {part.id for part in inventory.take(host).parts}
    return Nap(
        slept=trouble is None and away >= SHARE * seconds,
        trouble=trouble,
        gone=tuple(p for p in before.parts if p.kind in STAY and p.id not in left),
        serious=serious(log(host)[len(before_it) :]),
    )


def _now(host: Host) -> datetime:
    return datetime.fromisoformat(host.facts().now)


def log(host: Host) -> tuple[KernelMessage, ...]:
    """What the kernel has written; nothing where it may not be read."""
    try:
        return host.kernel_log()
    except Unreadable:
        return ()


def serious(messages: Sequence[KernelMessage]) -> tuple[str, ...]:
    """Lines that speak of a fault."""
    found = [event.raw for event in kernel_log.events(messages) if event.serious]
    return tuple(found[:SHOWN])


def readings(before: Inventory, naps: Sequence[Nap]) -> tuple[Reading, ...]:
    """Whether it slept and woke, and which parts came back each time."""
    gone: dict[str, list[Part]] = {}
    for one in naps:
        for part in one.gone:
            gone.setdefault(part.id, []).append(part)
    stayed = [p for p in before.parts if p.kind in STAY and p.id not in gone]
    return (
        _woke(naps),
        *(_kept(part, len(naps)) for part in stayed),
        *(_gone(found[0], len(found), naps) for found in gone.values()),
    )


def _woke(naps: Sequence[Nap]) -> Reading:
    """What wakes a machine early, a mouse or the network, is no fault of its sleep."""
    woke = sum(one.slept for one in naps)
    troubles = [one.trouble for one in naps if one.trouble is not None]
    short = troubles[0] if troubles else "it came back at once"
    early = not troubles and woke == 0
    outcome = Outcome.FAILED if troubles else Outcome.PASSED
    return Reading(
        check="sleep.wakes",
        at="machine",
        outcome=Outcome.NOT_JUDGED if early else outcome,
        value=None if early else len(troubles),
        unit="times",
        source=SOURCE,
        says=f"It slept and woke {woke} of {len(naps)} times"
        + ("." if woke == len(naps) else f": {short}."),
        why_not=_WOKEN if early else None,
        details=tuple(line for one in naps for line in one.serious)[:SHOWN],
    )


def _kept(part: Part, times: int) -> Reading:
    return Reading(
        check="sleep.keeps-parts",
        at=part.id,
        outcome=Outcome.PASSED,
        value=0,
        unit="times",
        source=SOURCE,
        says=f"It was there after each of {times} sleep(s).",
    )


def _gone(part: Part, count: int, naps: Sequence[Nap]) -> Reading:
    """Read at the place, which stays when its part has gone from it."""
    return Reading(
        check="sleep.keeps-parts",
        at=part.place or part.id,
        outcome=Outcome.FAILED,
        value=count,
        unit="times",
        source=SOURCE,
        says=f"{part.name} was gone after {count} of {len(naps)} sleep(s).",
        details=tuple(line for one in naps if part in one.gone for line in one.serious)[:SHOWN],
    )
