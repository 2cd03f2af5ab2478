"""Memory, passively: the modules the firmware lists, what the kernel got, counted errors.

Machine checks stand in the kernel's log and are read with it, not here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from livecheck.host import Host, counted, text
from livecheck.probes import Context, Yield
from livecheck.records import Inventory, NotTested, Outcome, Reading

CONTROLLER: Final = "memory-controller"
EDAC: Final = "/sys/devices/system/edac/mc"


def probe(context: Context) -> Iterator[Yield]:
    """Readings of the memory controller and of what the error counters name."""
    yield _modules_seen(context)
    yield from _errors(context.host, context.inventory)


def _total(host: Host) -> int | None:
    found = re.search(r"^MemTotal:\s+(\d+) kB", text(host, "/proc/meminfo") or "", re.MULTILINE)
    return int(found[1]) << 10 if found else None


def _gib(size: float) -> str:
    return f"{size / (1 << 30):.1f} GiB"


def _modules_seen(context: Context) -> Yield:
    """Whether the kernel got the memory of every module the firmware lists."""
    fitted = [p for p in context.inventory.parts if p.kind == "memory-module"]
    sizes = [p.size_bytes for p in fitted if p.size_bytes is not None]
    usable = _total(context.host)
    if not sizes or len(sizes) < len(fitted) or usable is None:
        return NotTested(
            what="Memory modules against the kernel's memory",
            why="the firmware's list of modules and sizes is not known here",
            at=CONTROLLER,
        )
    # Firmware and built-in graphics keep a part for themselves, less than any module.
    share = context.knowledge.checks["memory.modules-seen"].limits["missing_share_of_smallest"]
    missing = sum(sizes) - usable
    lost, more = missing > share * min(sizes), usable > sum(sizes)
    listed = f"The firmware lists {len(sizes)} module(s) with {_gib(sum(sizes))}"
    outcome = Outcome.FAILED if lost else Outcome.NOT_JUDGED if more else Outcome.PASSED
    return Reading(
        check="memory.modules-seen",
        at=CONTROLLER,
        outcome=outcome,
        value=usable,
        unit="bytes",
        source="SMBIOS type 17, /proc/meminfo",
        says=f"{listed}; the kernel has {_gib(usable)}"
        + (", which is a module short." if lost else "."),
        why_not="the kernel has more than the firmware lists: the list is wrong" if more else None,
        details=tuple(f"{p.place}: {p.name}" for p in fitted),
    )


def _errors(host: Host, inventory: Inventory) -> Iterator[Yield]:
    """Counters of the error detection driver (Documentation/admin-guide/RAS)."""
    controllers = [n for n in host.names(EDAC) if re.fullmatch(r"mc\d+", n)]
    if not controllers:
        yield NotTested(
            what="Counted memory errors",
            why="this memory has no error correction, or no driver counts its errors; "
            "most laptops' has none",
            at=CONTROLLER,
        )
    for name in controllers:
        folder = f"{EDAC}/{name}"
        for word, check in (("ce", "corrected"), ("ue", "uncorrected")):
            yield _counted(host, folder, word, f"memory.{check}-errors", inventory)


def _counted(host: Host, folder: str, word: str, check: str, inventory: Inventory) -> Reading:
    source = f"{folder}/{word}_count"
    total = counted(host, source)
    ways = {"ce": "were corrected", "ue": "could not be corrected"}
    if total is None:
        return Reading(
            check=check,
            at=CONTROLLER,
            outcome=Outcome.NOT_JUDGED,
            source=source,
            why_not="its counter could not be read",
        )
    at, lines = _where(host, folder, word, inventory)
    return Reading(
        check=check,
        at=at,
        outcome=Outcome.FAILED if total else Outcome.PASSED,
        value=total,
        unit="errors",
        source=source,
        says=f"{total} memory errors since the start {ways[word]}.",
        details=tuple(lines),
    )


def _labels(place: str, label: str, name: str) -> bool:
    """ghes_edac writes the bank before the place (Linux drivers/edac/ghes_edac.c, from memory)."""
    return place in (label, name) or label.endswith(f" {place}")


def _where(host: Host, folder: str, word: str, inventory: Inventory) -> tuple[str, list[str]]:
    """The one module that counted errors, where the driver's label names its place."""
    guilty, lines = set(), []
    for name in host.names(folder):
        count = counted(host, f"{folder}/{name}/dimm_{word}_count")
        if not re.fullmatch(r"(dimm|rank)\d+", name) or not count:
            continue
        label = text(host, f"{folder}/{name}/dimm_label") or name
        lines.append(f"{label}: {count}")
        places = [
            p.id
            for p in inventory.places
            if p.kind == "memory-slot" and _labels(p.id.removeprefix("dimm:"), label, name)
        ]
        guilty.add(places[0] if places else CONTROLLER)
    if len(guilty) != 1:
        return CONTROLLER, lines
    place = guilty.pop()
    return next((p.id for p in inventory.parts if p.place == place), place), lines
