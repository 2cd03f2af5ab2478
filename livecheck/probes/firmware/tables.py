"""Firmware tables and the clock, passively."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Final

from livecheck.host import Host, Unreadable, number, text
from livecheck.inventory import smbios
from livecheck.probes import Context, Yield
from livecheck.probes.firmware import settings
from livecheck.records import NotTested, Outcome, Reading

ACPI: Final = "/sys/firmware/acpi/tables"
UNSUMMED: Final = frozenset({b"FACS"})
"""The one system table without a checksum (ACPI 5.2.10)."""
DEFAULT_YEARS: Final = frozenset({1970, 1980, 1990, 1999, 2000, 2001})
"""Years a clock falls back to that lost its power (common practice, no source)."""
NEEDS_ROOT: Final = "needs root"


def probe(context: Context) -> Iterator[Yield]:
    """Readings of the ACPI and SMBIOS tables, version and settings, and the clock."""
    acpi = _acpi(context.host)
    yield acpi
    yield _smbios(context.host)
    damaged = (acpi,) if isinstance(acpi, Reading) else ()
    yield settings.version(context, damaged)
    yield settings.settings(context.host, smbios.tables(context.host))
    yield _clock(context)


# --- ACPI


def table_fault(table: bytes) -> str | None:
    """What is wrong with a whole ACPI table; None: nothing (ACPI 5.2.6)."""
    if len(table) < 8:
        return f"it is only {len(table)} bytes long"
    length = int.from_bytes(table[4:8], "little")
    if length != len(table):
        return f"its header says {length} bytes, it has {len(table)}"
    if table[:4] not in UNSUMMED and sum(table) & 0xFF:
        return f"its bytes sum to {sum(table) & 0xFF:02X}h and not to 0"
    return None


def _tables(host: Host) -> Iterator[str]:
    for name in host.names(ACPI):
        if name not in ("data", "dynamic"):
            yield f"{ACPI}/{name}"
    for name in host.names(f"{ACPI}/dynamic"):
        yield f"{ACPI}/dynamic/{name}"


def _acpi(host: Host) -> Yield:
    faults, read, refused = [], 0, 0
    for path in _tables(host):
        name = path.rpartition("/")[2]
        try:
            fault = table_fault(host.read(path))
        except Unreadable as error:
            refused += error.errno in (errno.EACCES, errno.EPERM)
            continue
        read += 1
        if fault:
            faults.append(f"{name}: {fault}")
    if not read:
        why = NEEDS_ROOT if refused else "this machine's firmware hands over no ACPI tables"
        return NotTested(what="Checksums of the ACPI tables", why=why, at="firmware")
    says = f"All {read} ACPI tables sum to 0."
    if faults:
        says = f"{len(faults)} of {read} ACPI tables are damaged."
    return Reading(
        check="firmware.acpi-checksums",
        at="firmware",
        outcome=Outcome.FAILED if faults else Outcome.PASSED,
        value=len(faults),
        unit="tables",
        source=ACPI,
        says=says,
        details=tuple(faults),
    )


# --- SMBIOS


def _smbios(host: Host) -> Yield:
    found = smbios.tables(host)
    if found is None:
        there = bool(host.names(smbios.TABLE.rpartition("/")[0]))
        refused = there and not host.facts().as_root
        why = NEEDS_ROOT if refused else "this machine's firmware hands over no SMBIOS table"
        return NotTested(what="SMBIOS table", why=why, at="firmware")
    says = f"The {found.structures} structures of the SMBIOS table keep the standard's rules."
    if found.damage:
        says = f"The SMBIOS table breaks the standard in {len(found.damage)} place(s)."
    return Reading(
        check="firmware.smbios",
        at="firmware",
        outcome=Outcome.FAILED if found.damage else Outcome.PASSED,
        value=len(found.damage),
        unit="faults",
        source=smbios.TABLE,
        says=says,
        details=found.damage,
    )


# --- Clock


def _clock(context: Context) -> Yield:
    host = context.host
    folder = "/sys/class/rtc/rtc0"
    shown = _time(number(host, f"{folder}/since_epoch"))
    driver = text(host, "/proc/driver/rtc") or ""
    dead = any(
        line.replace(" ", "").replace("\t", "") == "batt_status:dead"
        for line in driver.splitlines()
    )
    if shown is None and not dead:
        return NotTested(what="Clock", why="this machine shows the kernel no hardware clock")
    cell = next((p.id for p in context.inventory.parts if p.kind == "coin-cell"), "machine")
    limit = context.knowledge.checks["firmware.clock"].limits["hours_apart"]
    wrong = _clock_faults(shown, context, limit)
    if dead:
        wrong.insert(0, "The clock itself says that its battery is dead.")
    when = shown.isoformat(timespec="seconds") if shown else None
    return Reading(
        check="firmware.clock",
        at=cell,
        outcome=Outcome.FAILED if wrong else Outcome.PASSED,
        value=when,
        source=folder,
        says=" ".join(wrong) or f"The clock shows {when}, which can be true.",
    )


def _time(seconds: int | None) -> datetime | None:
    """None, too, for what is beyond the year 9999."""
    try:
        return datetime.fromtimestamp(seconds, UTC) if seconds is not None else None
    except (OverflowError, ValueError):
        return None


def _clock_faults(shown: datetime | None, context: Context, hours: float) -> list[str]:
    if shown is None:
        return []
    found = []
    made = _date(context.inventory.machine.firmware_date)
    if shown.year in DEFAULT_YEARS:
        found.append(f"The clock shows {shown.date()}: it has lost the time.")
    elif made is not None and shown.date() < made:
        found.append(f"The clock shows {shown.date()}, before its firmware was made ({made}).")
    now = datetime.fromisoformat(context.host.facts().now)
    apart = abs((now - shown).total_seconds()) / 3600
    # A clock set to local time is up to 14 hours off; the rest is drift or a lost date.
    if apart > hours and not found:
        found.append(f"Hardware clock and system clock are {apart:.0f} hours apart.")
    return found


def _date(written: str | None) -> date | None:
    try:
        return date.fromisoformat(written) if written else None
    except ValueError:
        return None
