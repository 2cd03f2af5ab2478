"""What the next start knows of the end of the last: crash records, hardware errors, the clock."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Final

from livecheck.host import Host, Unreadable, text
from livecheck.records import Machine, Record

BOOT_ID: Final = "/proc/sys/kernel/random/boot_id"
DMI: Final = "/sys/class/dmi/id"
STORES: Final = ("/sys/fs/pstore", "/var/lib/systemd/pstore")
"""The firmware's store of crash records, and where the system moves them at its start."""
EARLY_SECONDS: Final = 30.0
"""Hardware errors logged this soon after the start are left over from before (assumed)."""

_HARDWARE: Final = re.compile(
    r"BERT: .*(Error|Skipped)|\[Hardware Error\].*(Machine Check|event severity|Error \d)"
)
"""drivers/acpi/apei/bert.c: "Error records from previous boot"; machine checks the processor
kept over the reset (arch/x86/kernel/cpu/mce/core.c)."""
_PANIC: Final = re.compile(
    r"Kernel panic - not syncing.*|BUG: .*|Oops: .*|watchdog: BUG.*|general protection fault.*"
)


class Panic(Record, frozen=True, kw_only=True):
    """One crash record."""

    name: str
    says: str
    """The line that gives the reason, as the kernel wrote it."""


class Aftermath(Record, frozen=True, kw_only=True):
    """What is left of the last end."""

    boot: str
    up_since: float | None = None
    """When this start's kernel began, seconds since 1970 by the machine's clock."""
    panics: tuple[Panic, ...] = ()
    hardware: tuple[str, ...] = ()
    """Lines on errors from before this start."""


def boot(host: Host) -> str:
    """The kernel's id of this start; empty when it does not tell."""
    return text(host, BOOT_ID) or ""


def look(host: Host) -> Aftermath:
    """Everything this start knows. Never raises."""
    return Aftermath(
        boot=boot(host), up_since=_up_since(host), panics=panics(host), hardware=_hardware(host)
    )


def machine(host: Host) -> Machine:
    """Who this machine is, by what the kernel shows without decoding any table."""

    def copied(name: str) -> str | None:
        return text(host, f"{DMI}/{name}")

    return Machine(
        vendor=copied("sys_vendor"),
        product=copied("product_name"),
        serial=copied("product_serial"),
        uuid=copied("product_uuid"),
        board_product=copied("board_name"),
        board_serial=copied("board_serial"),
    )


def panics(host: Host) -> tuple[Panic, ...]:
    """Crash records the kernel left (Documentation/admin-guide/ramoops.rst, fs/pstore)."""
    found = []
    for store in STORES:
        for name, content in _files(host, store):
            reason = _reason(content)
            if reason is not None:
                found.append(Panic(name=name, says=reason))
    return tuple(found)


def _reason(content: str) -> str | None:
    """The last reason in it: an oops may come before the panic it led to."""
    said = [m[0].strip() for m in _PANIC.finditer(content)]
    if said:
        return said[-1]
    # A part of a longer record: its first line says at least what sort of end it was.
    head = content.partition("\n")[0]
    return head if head.startswith(("Panic#", "Oops#", "Emergency#")) else None


def _files(host: Host, folder: str, depth: int = 2) -> list[tuple[str, str]]:
    try:
        names = host.names(folder)
    except Unreadable:
        return []
    found = []
    for name in names:
        content = text(host, f"{folder}/{name}")
        if content is not None:
            found.append((name, content))
        elif depth:
            found += _files(host, f"{folder}/{name}", depth - 1)
    return found


def _up_since(host: Host) -> float | None:
    raw = text(host, "/proc/uptime")
    try:
        up = float((raw or "").split()[0])
        now = datetime.fromisoformat(host.facts().now).astimezone(UTC).timestamp()
    except (IndexError, ValueError):
        return None
    return now - up


def _hardware(host: Host) -> tuple[str, ...]:
    try:
        messages = host.kernel_log()
    except Unreadable:
        return ()
    return tuple(
        m.text for m in messages if m.seconds <= EARLY_SECONDS and _HARDWARE.search(m.text)
    )
