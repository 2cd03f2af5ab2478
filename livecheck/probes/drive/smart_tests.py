"""A drive's log of tests of itself, from smartctl's JSON; newest first.

Keys as smartmontools 7.3 and 7.4 write them (``ataprint.cpp``, ``nvmeprint.cpp``,
``scsiprint.cpp``).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from livecheck.probes.drive.smart_data import SelfTest, at, whole

_SCSI_ENTRIES: Final = 20
"""Entries of the self-test results log page (SPC-4)."""


def from_json(full: dict[str, Any]) -> tuple[SelfTest, ...]:
    """Every test the log holds; empty when the drive keeps none, or none was run."""
    return tuple(_ata(full)) or tuple(_nvme(full)) or tuple(_scsi(full))


def _rows(*tables: Any) -> Iterator[dict[str, Any]]:
    """The rows of the first table that has any."""
    table = next((rows for rows in tables if isinstance(rows, list) and rows), [])
    yield from (row for row in table if isinstance(row, dict))


def _ata(full: dict[str, Any]) -> Iterator[SelfTest]:
    log = full.get("ata_smart_self_test_log")
    for row in _rows(at(log, "extended", "table"), at(log, "standard", "table")):
        yield SelfTest(
            kind=str(at(row, "type", "string") or "self-test"),
            status=str(at(row, "status", "string") or ""),
            passed=_flag(at(row, "status", "passed")),
            hours=whole(row.get("lifetime_hours")),
            lba=whole(row.get("lba")),
        )


def _nvme(full: dict[str, Any]) -> Iterator[SelfTest]:
    for row in _rows(at(full, "nvme_self_test_log", "table")):
        result = whole(at(row, "self_test_result", "value"))
        # NVM Express base specification, Device Self-test log: 0 completed; 5, 6, 7 failed.
        passed = True if result == 0 else False if result in (5, 6, 7) else None
        yield SelfTest(
            kind=str(at(row, "self_test_code", "string") or "self-test"),
            status=str(at(row, "self_test_result", "string") or ""),
            passed=passed,
            hours=whole(row.get("power_on_hours")),
            lba=whole(row.get("lba")),
        )


def _scsi(full: dict[str, Any]) -> Iterator[SelfTest]:
    for number in range(_SCSI_ENTRIES):
        row = full.get(f"scsi_self_test_{number}")
        if not isinstance(row, dict):
            return
        result = whole(at(row, "result", "value"))
        # SPC-4, self-test results log: 0 completed; 3 to 7 failed.
        passed = True if result == 0 else False if result in (3, 4, 5, 6, 7) else None
        yield SelfTest(
            kind=str(at(row, "code", "string") or "self-test"),
            status=str(at(row, "result", "string") or ""),
            passed=passed,
            hours=whole(at(row, "power_on_time", "hours")),
            lba=whole(at(row, "lba_first_failure", "value")),
        )


def _flag(value: Any) -> bool | None:
    return value if isinstance(value, bool) else None
