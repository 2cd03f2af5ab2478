"""What the hardware itself says of memory while it is tested, and what it said at start-up."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck.host import Host, counted, text
from livecheck.inventory.memory_modules import CONTROLLER
from livecheck.probes import Yield
from livecheck.records import KernelEvent, NotTested, Outcome, Reading

EDAC: Final = "/sys/devices/system/edac/mc"
"""Linux Documentation/admin-guide/RAS/main.rst: counts of corrected (ce) and lost (ue) words."""

_EARLY = re.compile(r"early_memtest: # of tests: (\d+)")
_EARLY_BAD = re.compile(
    r" *([0-9a-f]{16}) bad mem addr (?:0x)?([0-9a-f]+) - (?:0x)?([0-9a-f]+) reserved"
)
"""Lines of the kernel's mm/memtest.c; older kernels print addresses without 0x."""


class ErrorCount(msgspec.Struct, frozen=True):
    corrected: int
    lost: int


def error_counts(host: Host) -> dict[str, ErrorCount]:
    """Module label of the error-counting driver -> counts since it was loaded."""
    found: dict[str, ErrorCount] = {}
    for controller in host.names(EDAC):
        folder = f"{EDAC}/{controller}"
        for dimm in (n for n in host.names(folder) if re.fullmatch(r"(dimm|rank)\d+", n)):
            label = text(host, f"{folder}/{dimm}/dimm_label") or f"{controller} {dimm}"
            corrected = counted(host, f"{folder}/{dimm}/dimm_ce_count")
            lost = counted(host, f"{folder}/{dimm}/dimm_ue_count")
            if corrected is not None and lost is not None:
                found[label] = ErrorCount(corrected, lost)
    return found


def counts_reading(
    before: dict[str, ErrorCount], after: dict[str, ErrorCount], minutes: float
) -> Reading:
    """Whether the counts rose between two looks."""
    if not after:
        return Reading(
            check="memory.error-counts",
            at=CONTROLLER,
            outcome=Outcome.NOT_JUDGED,
            source=EDAC,
            why_not="this machine does not count memory errors (no error-correcting memory, "
            "or no driver for its counter)",
        )
    rises = {
        label: ErrorCount(
            now.corrected - before.get(label, now).corrected, now.lost - before.get(label, now).lost
        )
        for label, now in after.items()
    }
    risen = {label: c for label, c in rises.items() if c.corrected > 0 or c.lost > 0}
    total = sum(c.corrected + c.lost for c in risen.values())
    says = (
        f"The memory controller counted {total} errors in {minutes:.0f} min of load, at "
        f"{', '.join(sorted(risen))}."
        if risen
        else f"The memory controller counted no error in {minutes:.0f} min of load."
    )
    return Reading(
        check="memory.error-counts",
        at=CONTROLLER,
        outcome=Outcome.FAILED if risen else Outcome.PASSED,
        value=total,
        unit="errors",
        source=EDAC,
        says=says,
        details=tuple(
            f"{label}: {c.corrected} corrected, {c.lost} lost" for label, c in sorted(risen.items())
        ),
        conditions=("under load",),
    )


def machine_checks(host: Host, since: float) -> tuple[str, ...]:
    """Kernel lines of hardware errors later than ``since`` seconds after its start."""
    words = ("[Hardware Error]", "mce:", "Machine check", "EDAC ")
    return tuple(
        message.text
        for message in host.kernel_log()
        if message.seconds > since
        and message.priority <= 4
        and any(w in message.text for w in words)
    )


def newest(host: Host) -> float:
    """Time of the newest kernel message, to tell later ones from."""
    return max((message.seconds for message in host.kernel_log()), default=0.0)


def machine_check_reading(check: str, lines: tuple[str, ...]) -> Reading:
    return Reading(
        check=check,
        at="machine",
        outcome=Outcome.FAILED if lines else Outcome.PASSED,
        value=len(lines),
        unit="messages",
        source="kernel log",
        says=f"The hardware reported {len(lines)} errors to the kernel under load."
        if lines
        else "The hardware reported no error to the kernel under load.",
        details=lines[:16],
        conditions=("under load",),
    )


def early_test(host: Host, events: tuple[KernelEvent, ...]) -> Iterator[Yield]:
    """What the kernel's own test at start-up found (boot option memtest=)."""
    lines = [*(message.text for message in host.kernel_log()), *(event.raw for event in events)]
    patterns = next((m[1] for line in lines if (m := _EARLY.match(line))), None)
    if patterns is None:
        yield NotTested(
            what="Memory before the system starts",
            why="the system was not started with the kernel's own memory test, "
            "or its messages are gone from the log",
        )
        return
    bad = sorted({(int(m[2], 16), int(m[3], 16)) for x in lines if (m := _EARLY_BAD.match(x))})
    size = sum(last - first for first, last in bad)
    yield Reading(
        check="memory.early-test",
        at="machine",
        outcome=Outcome.FAILED if bad else Outcome.PASSED,
        value=size,
        unit="bytes",
        source="kernel log: early_memtest",
        says=f"At start-up the kernel found {size} bad bytes of memory and keeps them out of use."
        if bad
        else f"The kernel's own test at start-up, {patterns} patterns, found no bad memory.",
        details=tuple(f"{first:#x} to {last:#x}" for first, last in bad[:16]),
    )
