"""Typed health data of a drive, whoever it was read from."""

from __future__ import annotations

import re
from typing import Any, Final

from livecheck.records import Record


class AtaAttribute(Record, frozen=True, kw_only=True):
    """One row of the vendor-specific attribute table."""

    number: int
    name: str = ""
    value: int | None = None
    worst: int | None = None
    threshold: int | None = None
    prefailure: bool = False
    """True: a value at or below the threshold means failure is near; False: only age."""
    raw: int | None = None
    """The six raw bytes as one little-endian number."""
    raw_text: str | None = None
    """The same as smartctl writes it, unpacked by its drive database."""


class PhyCounter(Record, frozen=True, kw_only=True):
    """One SATA phy event counter (general-purpose log 11h)."""

    number: int
    count: int
    name: str = ""
    saturated: bool = False


class AtaHealth(Record, frozen=True, kw_only=True):
    """What an ATA drive says of itself."""

    attributes: tuple[AtaAttribute, ...] = ()
    phy: tuple[PhyCounter, ...] = ()
    errors_logged: int | None = None
    percent_used: int | None = None
    """Percentage Used Endurance Indicator (device statistics)."""


class NvmeHealth(Record, frozen=True, kw_only=True):
    """SMART / Health Information log (LID 02h)."""

    critical_warning: int | None = None
    spare_percent: int | None = None
    spare_threshold_percent: int | None = None
    used_percent: int | None = None
    """May exceed 100; 255 stands for 255 and above."""
    media_errors: int | None = None
    error_entries: int | None = None
    unsafe_shutdowns: int | None = None
    power_on_hours: int | None = None
    warning_minutes: int | None = None
    critical_minutes: int | None = None
    bytes_written: int | None = None


class ScsiHealth(Record, frozen=True, kw_only=True):
    """Error counter and defect logs of a SCSI or SAS drive."""

    grown_defects: int | None = None
    uncorrected: int | None = None
    """Reads, writes and verifies that stayed wrong."""
    non_medium_errors: int | None = None
    used_percent: int | None = None


class SelfTest(Record, frozen=True, kw_only=True):
    """One entry of the self-test log, newest first."""

    kind: str
    status: str
    passed: bool | None = None
    """None: the status' own words must tell; or it was not finished."""
    hours: int | None = None
    lba: int | None = None


class SmartData(Record, frozen=True, kw_only=True):
    """Everything a drive was asked."""

    serial: str | None = None
    interface: str | None = None
    capable: bool = False
    passed: bool | None = None
    exit_status: int | None = None
    messages: tuple[str, ...] = ()
    solid_state: bool | None = None
    """None: the drive does not tell whether it turns."""
    temperature_c: int | None = None
    ata: AtaHealth | None = None
    nvme: NvmeHealth | None = None
    scsi: ScsiHealth | None = None
    self_tests: tuple[SelfTest, ...] = ()
    link_gbps: float | None = None
    link_max_gbps: float | None = None
    trouble: str | None = None


def at(data: Any, *keys: str) -> Any:
    """The value at a path of keys in nested JSON; None when any is missing."""
    for key in keys:
        if not isinstance(data, dict):
            return None
        data = data.get(key)
    return data


COUNT_BYTES: Final = 4
"""Widest count of events that is believed: the phy counters' own (Serial ATA, log 11h)."""


def field(value: Any, width: int = 1) -> int | None:
    """What a field of so many bytes can hold; None for anything else."""
    found = whole(value)
    return found if found is not None and 0 <= found < 1 << 8 * width else None


def whole(value: Any) -> int | None:
    """A whole number, or text that is one; None for anything else, and for one that no field of
    a drive is wide enough to hold (the widest have 16 bytes: NVM Express Base, SMART log)."""
    if isinstance(value, bool):
        return None
    if isinstance(value, str) and re.fullmatch(r"\s*[0-9]{1,39}\s*", value):
        value = int(value)
    return value if isinstance(value, int) and abs(value) < 1 << 128 else None
