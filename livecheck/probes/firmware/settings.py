"""What the firmware says it has switched off, its version, and when writing it again is worth it.

A part that the firmware hides looks like a part that is missing. The firmware tells of it
in the SMBIOS table (DMTF DSP0134: slots of type 9, on-board devices of types 41 and 10,
cores of type 4) and through ``_STA`` of its ACPI devices.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.host import Host, number, text
from livecheck.inventory.smbios_types import Tables
from livecheck.probes import Context, Yield
from livecheck.records import KernelEvent, NotTested, Outcome, Reading

SOURCE: Final = "SMBIOS types 4, 9, 10, 41; ACPI _STA"
ACPI_DEVICES: Final = "/sys/bus/acpi/devices"
PRESENT, ENABLED = 1 << 0, 1 << 1
"""Bits of _STA (ACPI 6.5, 6.3.7)."""

ONBOARD: Final = {
    0x03: "graphics",
    0x04: "SCSI controller",
    0x05: "wired network",
    0x07: "sound",
    0x08: "PATA controller",
    0x09: "SATA controller",
    0x0A: "SAS controller",
    0x0B: "wireless network",
    0x0C: "Bluetooth",
    0x0D: "mobile network",
    0x0E: "eMMC",
    0x0F: "NVMe controller",
    0x10: "UFS controller",
}
"""DSP0134 7.42.1."""


def settings(host: Host, tables: Tables | None) -> Yield:
    """One reading: what is switched off, as far as the firmware tells."""
    hidden = list(hidden_parts(tables)) if tables is not None else []
    quiet = switched_off(host)
    if tables is None and not host.names(ACPI_DEVICES):
        why = "this machine's firmware tells of no settings"
        return NotTested(what="Settings that hide parts", why=why, at="firmware")
    if hidden:
        says = (
            f"The firmware has switched off: {'; '.join(hidden)}. Look into its setup before a "
            "part is looked for there."
        )
    else:
        says = "The firmware tells of no slot, device or core that it has switched off."
    details = [*hidden, *(f"ACPI device present and off: {name}" for name in quiet[:16])]
    return Reading(
        check="firmware.settings",
        at="firmware",
        outcome=Outcome.FAILED if hidden else Outcome.PASSED,
        value=len(hidden),
        unit="settings",
        source=SOURCE,
        says=says,
        details=tuple(details),
    )


def hidden_parts(tables: Tables) -> Iterator[str]:
    """Each thing the SMBIOS table calls switched off, in words."""
    for slot in tables.slots:
        if slot.unavailable:
            yield f"slot {slot.name or 'without a name'}"
    for device in tables.onboard:
        if not device.enabled:
            kind = ONBOARD.get(device.kind or 0, "a device")
            yield f"{kind} ({device.name})" if device.name else kind
    for processor in tables.processors:
        cores, used = processor.cores, processor.cores_enabled
        if cores and used and used < cores:
            yield f"{cores - used} of {cores} cores"


def switched_off(host: Host) -> list[str]:
    """ACPI devices that are present and not enabled (…/ABI/testing/sysfs-bus-acpi, status).

    Not counted as hidden: many are, on every sound machine, by the maker's design.
    """
    found = []
    for name in host.names(ACPI_DEVICES):
        status = number(host, f"{ACPI_DEVICES}/{name}/status")
        if status is not None and status & PRESENT and not status & ENABLED:
            path = text(host, f"{ACPI_DEVICES}/{name}/path")
            found.append(f"{name} ({path})" if path else name)
    return found


def version(context: Context, damaged: Sequence[Reading]) -> Yield:
    """Version and date, and whether writing it again is worth a try.

    Worth it: a table that is damaged (the flash lost bits, or an update broke off), or
    mistakes the kernel had to work around (a newer version may have them mended). Common
    practice, no source.
    """
    machine = context.inventory.machine
    if machine.firmware_version is None:
        return NotTested(what="Firmware version", why="the firmware does not tell", at="firmware")
    named = [machine.firmware_vendor, machine.firmware_version]
    said = " ".join(w for w in named if w)
    dated = f" of {machine.firmware_date}" if machine.firmware_date else ""
    advice = worth_writing(context.events, damaged)
    return Reading(
        check="firmware.version",
        at="firmware",
        outcome=Outcome.NOT_JUDGED,
        value=machine.firmware_version,
        source="SMBIOS type 0",
        says=f"Firmware {said}{dated}. {advice}",
        why_not="only the maker's page tells whether there is a newer one",
    )


def worth_writing(events: Sequence[KernelEvent], damaged: Sequence[Reading]) -> str:
    """Whether to write the firmware again, with what has to be seen to before."""
    care = (
        "Before that: the customer's data saved, charged battery and adapter both in, the maker's "
        "image for this very board; an update that breaks off leaves a dead board."
    )
    if any(reading.outcome is Outcome.FAILED for reading in damaged):
        return f"Its tables are damaged: writing the maker's firmware again is worth a try. {care}"
    bugs = sum(e.subsystem == "firmware" for e in events)
    if bugs:
        return (
            f"The kernel worked around {bugs} mistakes of it: a newer version is worth a try "
            f"where they touch the complaint. {care}"
        )
    return "Nothing here speaks for writing it again."
