"""The firmware's tables and programs, the embedded controller, devices that misaddress.

Wordings: Linux 4.4 to 6.12 ``drivers/acpi`` (``ec.c``, ``acpica``, ``battery.c``),
``drivers/iommu/intel/dmar.c``, ``amd/iommu.c``, ``drivers/power/supply``; ``[Firmware Bug]``:
``include/linux/printk.h`` (FW_BUG, FW_WARN, FW_INFO).
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import errnos
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import FIRMWARE, HOST_BUS, OTHER, TIMEOUT

CONTROLLER: Final = "embedded controller"
_SILENT: Final = "the embedded controller did not answer in time"

EMBEDDED: Final = Family(
    CONTROLLER,
    re.compile(r"^ACPI(?: (?:Error|Exception|BIOS Error \(bug\)|Warning))?\s?: "),
    (
        rule(r"(?=.*AE_TIME).*", TIMEOUT, _SILENT),
        rule(r".*Timeout from EC hardware|EC: .*(?:[Tt]ime(?:d )?out|input buffer is not empty|"
             r"aborting transaction)", TIMEOUT, _SILENT),
        rule(r"EC: GPE storm", OTHER, "the embedded controller interrupts without end", False),
        chatter(r"EC: |_PSW execution failed", "the embedded controller"),
    ),
    claims=False,
)  # fmt: skip


def _table(match: re.Match[str]) -> Judged:
    return FIRMWARE, f"the kernel worked around: {match['what']}", False


_BUGS: Final = Family(
    "firmware",
    # Before the mark stands what the driver calls itself, never a device's own string.
    re.compile(r"^(?:[\w/#.\\-]+:? ){0,4}(?=\[Firmware (?:Bug|Warn|Info)\])"),
    (
        judged(r"\[Firmware Bug\]: (?P<what>.+)", _table),
        rule(r"\[Firmware (?:Warn|Info)\]: (?P<what>.+)", FIRMWARE, "{what}", False),
    ),
    claims=False,
)

_ACPI: Final = (
    Family(
        "firmware",
        re.compile(r"^ACPI(?: BIOS)? (?:Error|Warning|Exception)(?: \(bug\))?\s?: "),
        (
            rule(r".*[Ii]ncorrect checksum in table", FIRMWARE,
                 "a firmware table has a wrong checksum"),
            rule(r".*", FIRMWARE, "the firmware's own program failed", False),
        ),
    ),
    Family(
        "firmware",
        re.compile(r"^ACPI: "),
        (
            rule(r".*(?:checksum)", FIRMWARE, "a firmware table has a wrong checksum", False),
            rule(r".*(?:_STA |_PS\d |_ON |_OFF )?(?:evaluation|execution) failed|"
                 r".*failed to evaluate|"
                 r".*Device \[\S+\] .*|.*AE_\w+",
                 FIRMWARE, "the firmware's own program failed", False),
        ),
        claims=False,
    ),
)  # fmt: skip


def _fault(match: re.Match[str]) -> Judged:
    return HOST_BUS, "a device misaddressed", False


_IOMMU: Final = Family(
    "firmware",
    # What follows "Event logged [" is a line of its own in some logs (drivers/iommu/amd).
    re.compile(r"^(?:DMAR: |AMD-Vi: |iommu ivhd\d+: (?:AMD-Vi: )?|DMAR-IR: |"
               r"(?=(?:IO_PAGE_FAULT|INVALID_DEVICE_REQUEST|ILLEGAL_DEV_TABLE_ENTRY|"
               r"(?:DEV|PAGE)_TAB_HARDWARE_ERROR) device=))"),
    (
        rule(r".*(?:Completion-Wait loop timed out|Command buffer timeout|Invalidation Time-?out|"
             r"VT-d detected Inval)",
             HOST_BUS, "the unit that maps devices to memory did not answer"),
        judged(r"\[DMA (?:Read|Write)[^]]*\] Request device \[(?:0x)?(?P<dev>[0-9a-f]{2}:"
               r"(?:0x)?[0-9a-f]{2}\.\d)\]", _fault),
        judged(r"(?:Event logged \[)?[A-Z_]+ (?:domain=\w+ )?device=(?P<dev>[0-9a-f:.]+)", _fault),
        judged(r"(?:.*(?:fault|FAULT)|Event logged|AMD-Vi: )", _fault),
        chatter(r"", "the unit that maps devices to memory"),
    ),
)  # fmt: skip


def _property(match: re.Match[str]) -> Judged:
    layer = errnos.layer_of_errno(int(match["errno"]))
    return layer, f"the supply did not tell its {match['what']}", layer == TIMEOUT


_SUPPLY: Final = Family(
    "power supply",
    re.compile(r"^power_supply (?P<dev>\S+): "),
    (
        judged(r"driver failed to report [`'](?P<what>\w+)' property: -(?P<errno>\d+)", _property),
        chatter(r"hwmon|type", "the supply's driver"),
    ),
)

_CLOCK: Final = Family(
    "clock",
    re.compile(r"^(?:tsc|clocksource|hpet|rtc_cmos \S+|TSC): "),
    (chatter(r"", "the machine's clocks"),),
)

_MISC: Final = Family(
    "firmware",
    re.compile(r"^(?=Error parsing PCC subspaces|pcc_cpufreq|PCCT|x86/cpu: |tboot: )"),
    (chatter(r"", "an optional table"),),
)

FAMILIES: Final = (EMBEDDED, _BUGS, *_ACPI, _IOMMU, _SUPPLY, _CLOCK, _MISC)
