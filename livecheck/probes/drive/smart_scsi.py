"""SCSI and SAS health: defect list and error counter logs, decoded and judged.

Keys of the JSON: smartmontools 7.3 ``scsiprint.cpp``.
"""

from __future__ import annotations

import re
from typing import Any

from livecheck.probes.drive.smart_data import COUNT_BYTES, ScsiHealth, SmartData, at, field, whole
from livecheck.probes.finding import Finding, finding, unjudged


def from_json(full: dict[str, Any]) -> ScsiHealth | None:
    """The logs of smartctl's JSON; None when there are none."""
    grown = _grown(full)
    counters = full.get("scsi_error_counter_log")
    if grown is None and not isinstance(counters, dict):
        return None
    ways = ("read", "write", "verify")
    lost = [whole(at(counters, way, "total_uncorrected_errors")) for way in ways]
    known = [number for number in lost if number is not None]
    return ScsiHealth(
        grown_defects=grown,
        uncorrected=sum(known) if known else None,
        used_percent=whole(full.get("scsi_percentage_used_endurance_indicator")),
    )


def _grown(full: dict[str, Any]) -> int | None:
    """By the text, where smartctl gives it: some versions put bytes into the JSON, eight to an
    entry (as smartctl_exporter's issue 118 shows: 240 for 30)."""
    for line in at(full, "smartctl", "output") or ():
        told = re.match(r"Elements in grown defect list: (\d{1,9})$", str(line))
        if told is not None:
            return int(told[1])
    return whole(full.get("scsi_grown_defect_list"))


def from_pysmart(attributes: Any) -> ScsiHealth:
    """The logs as pySMART's SCSIAttributes holds them."""
    logs = attributes.diagnostics
    parts = (logs._Uncorrected_Reads, logs._Uncorrected_Writes, logs._Uncorrected_Verifies)
    known = [part for part in parts if isinstance(part, int)]
    left = logs.Life_Left
    return ScsiHealth(
        grown_defects=logs.Reallocated_Sector_Ct,
        uncorrected=sum(known) if known else None,
        non_medium_errors=logs.Non_Medium_Errors,
        used_percent=100 - left if isinstance(left, int) else None,
    )


def health(data: SmartData) -> Finding | None:
    """The drive's verdict on itself (informational exceptions)."""
    if data.passed is None:
        return None
    says = "The drive rates itself healthy." if data.passed else "The drive says it is failing."
    value = "passed" if data.passed else "failing"
    return finding("storage.health", not data.passed, value, says)


def judge(data: SmartData) -> tuple[Finding, ...]:
    """Findings of a SCSI drive's logs."""
    scsi = data.scsi
    if scsi is None:
        return ()
    found: list[Finding] = []
    losses = [n for n in (scsi.grown_defects, scsi.uncorrected) if n is not None]
    if losses:
        total = sum(losses)
        if any(field(n, COUNT_BYTES) is None for n in losses):
            why = "no drive can count so many; the figure is not believed"
            return (unjudged("storage.medium-errors", why, total, "errors"),)
        grown, lost = scsi.grown_defects or 0, scsi.uncorrected or 0
        says = f"{grown} defects grown, {lost} errors not corrected."
        found.append(finding("storage.medium-errors", total > 0, total, says, "errors"))
    if scsi.non_medium_errors is not None:
        # A recorded sound drive counts 84,893: aborted commands and resets are in it too.
        why = "errors that are not the medium's have many causes"
        found.append(unjudged("storage.command-errors", why, scsi.non_medium_errors, "errors"))
    return tuple(found)
