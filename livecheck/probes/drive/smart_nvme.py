"""NVMe health: the SMART / Health Information log, decoded and judged.

Fields and units: NVM Express base specification, log 02h, as Linux 6.12
``include/linux/nvme.h`` (``struct nvme_smart_log``) lays them out.
"""

from __future__ import annotations

from typing import Any, Final

from livecheck.probes.drive.smart_data import COUNT_BYTES, NvmeHealth, SmartData, at, field, whole
from livecheck.probes.finding import Finding, finding, unjudged

DATA_UNIT_BYTES: Final = 512_000
"""One data unit is 1000 blocks of 512 bytes, rounded up."""

TEMPERATURE: Final = 1 << 1
CRITICAL_BITS: Final = {
    0: "its spare blocks are used up",
    2: "reliability degraded",
    3: "medium became read-only",
    4: "the backup of its volatile memory failed",
}


def from_json(full: dict[str, Any]) -> NvmeHealth | None:
    """The log of smartctl's JSON; None when there is none."""
    log = full.get("nvme_smart_health_information_log")
    if not isinstance(log, dict):
        return None
    written = whole(log.get("data_units_written"))
    return NvmeHealth(
        critical_warning=whole(log.get("critical_warning")),
        spare_percent=whole(log.get("available_spare")),
        spare_threshold_percent=whole(log.get("available_spare_threshold")),
        used_percent=whole(log.get("percentage_used")),
        media_errors=whole(log.get("media_errors")),
        error_entries=whole(log.get("num_err_log_entries")),
        unsafe_shutdowns=whole(log.get("unsafe_shutdowns")),
        power_on_hours=whole(at(log, "power_on_hours")),
        warning_minutes=whole(log.get("warning_temp_time")),
        critical_minutes=whole(log.get("critical_comp_time")),
        bytes_written=written * DATA_UNIT_BYTES if written is not None else None,
    )


def from_pysmart(log: Any) -> NvmeHealth:
    """The log as pySMART's NvmeAttributes holds it."""
    written = log.dataUnitsWritten
    return NvmeHealth(
        critical_warning=log.criticalWarning,
        spare_percent=log.availableSpare,
        spare_threshold_percent=log.availableSpareThreshold,
        used_percent=log.percentageUsed,
        media_errors=log.integrityErrors,
        error_entries=log.errorEntries,
        unsafe_shutdowns=log.unsafeShutdowns,
        power_on_hours=log.powerOnHours,
        warning_minutes=log.warningTemperatureTime,
        critical_minutes=log.criticalTemperatureTime,
        bytes_written=written * DATA_UNIT_BYTES if written is not None else None,
    )


EMPTY: Final = "its figures are zeros or ones throughout: they are not the drive's"
RESERVED_BITS: Final = ~0x3F
"""Of the critical warning: NVM Express base specification 2.0 knows bits 0 to 5."""


def empty(log: NvmeHealth) -> bool:
    """What a bridge that passes nothing on, or a bus without a drive, gives for a log.

    Spare blocks are a percentage from 0 to 100; without any the drive warns of them (bit 0).
    """
    spare, warns = log.spare_percent, log.critical_warning
    if spare is None or warns is None:
        return False
    return (
        not 0 <= spare <= 100
        or bool(warns & RESERVED_BITS)
        or (spare == 0 and warns == 0 and not log.power_on_hours)
    )


def health(data: SmartData) -> Finding | None:
    """The drive's verdict on itself.

    smartctl calls any critical warning a failure; heat is a finding of its own here, and only
    the others mean that the drive is failing.
    """
    log = data.nvme
    if log is None or log.critical_warning is None:
        if data.passed is None:
            return None
        says = "The drive rates itself healthy." if data.passed else "The drive says it is failing."
        value = "passed" if data.passed else "failing"
        return finding("storage.health", not data.passed, value, says)
    if data.passed is False and not log.critical_warning:
        return None
    named = [text for bit, text in CRITICAL_BITS.items() if log.critical_warning >> bit & 1]
    details = (f"critical warning {log.critical_warning:#04x}",)
    if named:
        says = f"The drive says of itself: {', '.join(named)}."
        return finding("storage.health", True, "failing", says).with_details(details)
    return finding(
        "storage.health", False, "passed", "The drive rates itself healthy."
    ).with_details(details)


def judge(data: SmartData) -> tuple[Finding, ...]:
    """Findings of an NVMe drive's log."""
    log = data.nvme
    if log is None:
        return ()
    found: list[Finding] = []
    if log.media_errors is not None and field(log.media_errors, COUNT_BYTES) is None:
        why = "no drive can count so many; the figure is not believed"
        found.append(unjudged("storage.medium-errors", why, log.media_errors, "errors"))
    elif log.media_errors is not None:
        says = (
            f"{log.media_errors} times data could not be read back as it was written."
            if log.media_errors
            else "The drive counts nothing that it could not read back as it was written."
        )
        found.append(
            finding("storage.medium-errors", log.media_errors > 0, log.media_errors, says, "errors")
        )
    if log.error_entries is not None:
        # Recorded sound drives log thousands: status 0xc005 is a command they do not know.
        why = "refused commands are logged with the rest; only media errors speak of a fault"
        found.append(unjudged("storage.command-errors", why, log.error_entries, "entries"))
    return tuple(found)
