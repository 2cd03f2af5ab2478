"""Machine checks, memory errors, heat, graphics, firmware bugs.

Wordings: Linux 6.1 and 6.12 ``arch/x86/kernel/cpu/mce``, ``drivers/edac``,
``drivers/thermal``, ``drivers/gpu/drm``, ``drivers/acpi``, ``drivers/iommu``;
``[Firmware Bug]``: ``include/linux/printk.h`` (FW_BUG, FW_WARN, FW_INFO).
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log.rules import Family, Judged, judged, rule
from livecheck.kernel_log.words import (
    FIRMWARE,
    GRAPHICS,
    HOST_BUS,
    LINK,
    MACHINE_CHECK,
    OTHER,
    THERMAL,
)


def _edac(match: re.Match[str]) -> Judged:
    uncorrected = match["kind"] == "UE"
    word = "not corrected" if uncorrected else "corrected"
    return MACHINE_CHECK, f"{match['count']} memory error(s), {word}: {match['rest']}", True


def _check(match: re.Match[str]) -> Judged:
    status = int(match["status"], 16)
    # MCi_STATUS bit 61 (UC): not corrected by hardware (Intel SDM volume 3, chapter 15).
    word = "not corrected" if status >> 61 & 1 else "corrected"
    says = f"machine check in bank {match['bank']} of processor {match['cpu']}, {word}"
    return MACHINE_CHECK, says, True


THERMAL_FAMILY: Final = Family(
    "thermal",
    re.compile(
        r"temperature (?:is )?above threshold|temperature/speed normal|critical temperature|"
        r"^thermal (?P<dev>\S+?): |^THERMAL|HARDWARE PROTECTION"
    ),
    (
        rule(r"temperature/speed normal", THERMAL, "cool enough again", False),
        rule(
            r"(?P<who>CPU\d+): (?P<what>Core|Package) temperature.* above threshold",
            THERMAL,
            "{what} of {who} too hot: its clock was cut",
        ),
        rule(
            r"critical temperature|HARDWARE PROTECTION",
            THERMAL,
            "a critical temperature was reached: the machine switches itself off",
        ),
    ),
)

MACHINE: Final = Family(
    "machine check",
    re.compile(
        r"^mce: |\[Hardware Error\]|^EDAC |^MCE:|^Memory failure|^NMI: |^Uhhuh\. NMI|^BERT:|"
        r"[Mm]achine check"
    ),
    (
        judged(
            r"CPU (?P<cpu>\d+): Machine Check(?: Exception)?: \S+ Bank (?P<bank>\d+): "
            r"(?P<status>[0-9a-f]+)",
            _check,
        ),
        judged(r"EDAC (?P<dev>MC\d+): (?P<count>\d+) (?P<kind>[CU]E) (?P<rest>.*)", _edac),
        rule(r"Machine check events logged", MACHINE_CHECK, "machine checks were logged"),
        rule(r"[Ff]atal machine check|Machine check from unknown", MACHINE_CHECK, "fatal"),
        rule(r"Memory failure|MCE: Killing", MACHINE_CHECK, "a page of memory was given up"),
        rule(r"PCI system error \(SERR\)|I/O check error", HOST_BUS, "a bus reported an error"),
        rule(r"memory parity error", MACHINE_CHECK, "memory parity error"),
        rule(
            r"BERT: Error records from previous boot",
            MACHINE_CHECK,
            "the firmware kept an error record from before the last restart",
        ),
        rule(r"received for unknown reason|Dazed and confused", OTHER, "unexplained NMI", False),
        rule(r"severity: (?P<severity>\w+)", MACHINE_CHECK, "reported as {severity}", False),
        rule(
            r"\[Hardware Error\]:|event severity|Hardware Error",
            MACHINE_CHECK,
            "a line of an error record",
            False,
        ),
        rule(
            r"banks|in-kernel MCE|[Cc]leared|Giving out device|Ver: |Using \d+ MCE|CMCI|"
            r"Decoding|[Tt]hermal monitoring|Table .*length|Total of|Error records? (?:is|are) ",
            OTHER,
            "set up",
            False,
        ),
    ),
)

_ADDRESS: Final = r"[0-9a-f]{4}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]"

GRAPHICS_FAMILY: Final = Family(
    "graphics",
    re.compile(
        rf"^(?:i915|xe|amdgpu|radeon|nouveau) (?P<dev>{_ADDRESS}): |^\[drm|^NVRM: |^amdgpu: "
    ),
    (
        rule(r"fallen off the bus", HOST_BUS, "the graphics chip is gone from its bus"),
        rule(
            r"GPU HANG|ring \S+ (?:timeout|stalled)|GPU lockup|GPU fault|PROTECTION_FAULT|"
            r"SCHED_ERROR|Xid \(|Engine reset|GPU reset begin|failed to reset",
            GRAPHICS,
            "the graphics chip hung or faulted",
        ),
        rule(
            r"[Ll]ink [Tt]raining (?:failed|[Uu]nsuccessful)|failed (?:to train|link training)|"
            r"AUX .*timeout",
            LINK,
            "the link to a screen did not train",
        ),
        rule(r"flip_done timed out|vblank wait timed out", GRAPHICS, "the picture stopped", False),
        rule(r"FIFO underrun", GRAPHICS, "the picture was starved of data", False),
        rule(r"EDID", LINK, "a screen's identification was damaged", False),
        rule(r"Resetting (?:chip|\w+\d) for", GRAPHICS, "part of the graphics was reset", False),
    ),
)

FIRMWARE_FAMILY: Final = Family(
    "firmware",
    re.compile(
        r"\[Firmware (?:Bug|Warn|Info)\]|ACPI BIOS (?:Error|Warning)|^ACPI (?:Error|Warning|"
        r"Exception)|^ACPI: .*checksum|^DMAR: .*(?:fault|\[DMA)|^AMD-Vi: Event"
    ),
    (
        rule(r"[Ii]ncorrect checksum in table", FIRMWARE, "a firmware table has a wrong checksum"),
        rule(
            r"\[Firmware Bug\]: (?P<what>.+)", FIRMWARE, "the kernel worked around: {what}", False
        ),
        rule(r"\[Firmware (?:Warn|Info)\]: (?P<what>.+)", FIRMWARE, "{what}", False),
        rule(r"DMA (?:Read|Write).*fault|IO_PAGE_FAULT", HOST_BUS, "a device misaddressed", False),
        rule(
            r"ACPI BIOS (?:Error|Warning)|ACPI (?:Error|Warning|Exception)",
            FIRMWARE,
            "the firmware's own program failed",
            False,
        ),
    ),
)
