"""What smartctl would say of an invented drive: its text and its JSON.

Line formats are those of smartmontools 7.3 (ataprint.cpp, nvmeprint.cpp); the drives
are nobody's.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

HEAD = "smartctl 7.3 2022-02-28 r5338 [x86_64-linux-6.12.0] (local build)"

ATA_ROWS: dict[int, tuple[str, int, bool]] = {
    5: ("Reallocated_Sector_Ct", 10, True),
    9: ("Power_On_Hours", 0, False),
    12: ("Power_Cycle_Count", 0, False),
    187: ("Reported_Uncorrect", 0, False),
    194: ("Temperature_Celsius", 0, False),
    197: ("Current_Pending_Sector", 0, False),
    198: ("Offline_Uncorrectable", 0, False),
    199: ("UDMA_CRC_Error_Count", 0, False),
}
"""Number -> name, threshold, whether it is a prefailure attribute."""


@dataclass(frozen=True)
class Drive:
    """An invented drive."""

    model: str
    serial: str
    firmware: str
    size: int
    """Bytes."""
    nvme: bool = False
    raw: dict[int, int] = field(default_factory=dict)
    """ATA attribute -> raw value; those not named are 0."""
    phy: dict[int, int] = field(default_factory=dict)
    """SATA phy event counter -> count."""
    media_errors: int = 0
    error_entries: int = 0
    critical_warning: int = 0
    used_percent: int = 3
    hours: int = 6120
    celsius: int = 36

    @property
    def failing(self) -> bool:
        return self.critical_warning != 0

    def answers(self) -> dict[str, Any]:
        """Text, JSON and exit status, for the stand-in that plays smartctl."""
        return {
            "text": self.text(),
            "json": self.json(),
            "detected": self.detected(),
            "status": self.status,
        }

    @property
    def status(self) -> int:
        return 8 if self.failing else 0

    def answer(self, options: Sequence[str]) -> tuple[int, bytes]:
        """Exit status and output for a call."""
        if "test" in options:
            return 0, self.detected().encode()
        as_json = any(word.startswith("--json") or word == "-j" for word in options)
        out = json.dumps(self.json()) if as_json else self.text()
        return self.status, out.encode()

    def detected(self) -> str:
        """What ``-d test`` prints."""
        kind = "'nvme' [NVMe]" if self.nvme else "'sat' [ATA]"
        lines = [f"/dev/x: Device of type {kind} {word}" for word in ("detected", "opened")]
        return "\n".join([HEAD, "Copyright (C) 2002-22", "", *lines, ""])

    def text(self) -> str:
        lines = self._nvme_lines() if self.nvme else self._ata_lines()
        return "\n".join([HEAD, "Copyright (C) 2002-22", "", *lines, ""])

    def json(self) -> dict[str, Any]:
        body = self._nvme_json() if self.nvme else self._ata_json()
        kind = "nvme" if self.nvme else "sat"
        return {
            "json_format_version": [1, 0],
            "smartctl": {
                "version": [7, 3],
                "output": self.text().split("\n"),
                "exit_status": self.status,
            },
            "device": {"name": "/dev/x", "type": kind, "protocol": "NVMe" if self.nvme else "ATA"},
            "model_name": self.model,
            "serial_number": self.serial,
            "firmware_version": self.firmware,
            "smart_support": {"available": True, "enabled": True},
            "smart_status": {"passed": not self.failing},
            "temperature": {"current": self.celsius},
            **body,
        }

    # --- ATA

    def _rows(self) -> dict[int, int]:
        plain = {9: self.hours, 12: 410, 194: self.celsius}
        return {number: self.raw.get(number, plain.get(number, 0)) for number in ATA_ROWS}

    def _ata_lines(self) -> list[str]:
        table = [
            f"{number:3d} {ATA_ROWS[number][0]:<24}0x{'0033' if ATA_ROWS[number][2] else '0032'}"
            f"   100   100   {ATA_ROWS[number][1]:03d}    "
            f"{'Pre-fail' if ATA_ROWS[number][2] else 'Old_age '}  Always       -       {raw}"
            for number, raw in self._rows().items()
        ]
        return [
            "=== START OF INFORMATION SECTION ===",
            f"Device Model:     {self.model}",
            f"Serial Number:    {self.serial}",
            f"Firmware Version: {self.firmware}",
            f"User Capacity:    {self.size:,} bytes [{self.size / 1e9:.0f} GB]",
            "Sector Sizes:     512 bytes logical, 4096 bytes physical",
            "Rotation Rate:    Solid State Device",
            "Form Factor:      2.5 inches",
            "ATA Version is:   ACS-3 T13/2161-D revision 5",
            "SATA Version is:  SATA 3.2, 6.0 Gb/s (current: 6.0 Gb/s)",
            "SMART support is: Available - device has SMART capability.",
            "SMART support is: Enabled",
            "",
            "=== START OF READ SMART DATA SECTION ===",
            "SMART overall-health self-assessment test result: PASSED",
            "",
            "SMART Attributes Data Structure revision number: 16",
            "Vendor Specific SMART Attributes with Thresholds:",
            "ID# ATTRIBUTE_NAME          FLAG     VALUE WORST THRESH TYPE      "
            "UPDATED  WHEN_FAILED RAW_VALUE",
            *table,
            "",
            "SMART Error Log Version: 1",
            "No Errors Logged",
            "",
            "SMART Self-test log structure revision number 1",
            "No self-tests have been logged.  [To run self-tests, use: smartctl -t]",
        ]

    def _ata_json(self) -> dict[str, Any]:
        speed = {"units_per_second": 60, "bits_per_unit": 100000000, "string": "6.0 Gb/s"}
        return {
            "user_capacity": {"blocks": self.size // 512, "bytes": self.size},
            "rotation_rate": 0,
            "interface_speed": {"max": speed, "current": speed},
            "ata_smart_attributes": {
                "table": [
                    {
                        "id": number,
                        "name": ATA_ROWS[number][0],
                        "value": 100,
                        "worst": 100,
                        "thresh": ATA_ROWS[number][1],
                        "when_failed": "",
                        "flags": {"prefailure": ATA_ROWS[number][2]},
                        "raw": {"value": raw, "string": str(raw)},
                    }
                    for number, raw in self._rows().items()
                ]
            },
            "ata_smart_error_log": {"summary": {"revision": 1, "count": 0}},
            "sata_phy_event_counters": {
                "table": [
                    {"id": number, "name": f"counter {number}", "size": 2, "value": value,
                     "overflow": False}
                    for number, value in self.phy.items()
                ],
                "reset": False,
            },
        }  # fmt: skip

    # --- NVMe

    def _nvme_lines(self) -> list[str]:
        passed = "FAILED!" if self.failing else "PASSED"
        return [
            "=== START OF INFORMATION SECTION ===",
            f"Model Number:                       {self.model}",
            f"Serial Number:                      {self.serial}",
            f"Firmware Version:                   {self.firmware}",
            "PCI Vendor/Subsystem ID:            0x1b36",
            "Controller ID:                      1",
            "NVMe Version:                       1.4",
            "Number of Namespaces:               1",
            f"Namespace 1 Size/Capacity:          {self.size:,} [{self.size / 1e9:.0f} GB]",
            "Namespace 1 Formatted LBA Size:     512",
            "",
            "=== START OF SMART DATA SECTION ===",
            f"SMART overall-health self-assessment test result: {passed}",
            "",
            "SMART/Health Information (NVMe Log 0x02)",
            f"Critical Warning:                   0x{self.critical_warning:02x}",
            f"Temperature:                        {self.celsius} Celsius",
            "Available Spare:                    97%",
            "Available Spare Threshold:          10%",
            f"Percentage Used:                    {self.used_percent}%",
            "Data Units Read:                    9,127,330 [4.67 TB]",
            "Data Units Written:                 6,402,118 [3.27 TB]",
            "Host Read Commands:                 120,332,871",
            "Host Write Commands:                98,220,145",
            "Controller Busy Time:               402",
            "Power Cycles:                       812",
            f"Power On Hours:                     {self.hours:,}",
            "Unsafe Shutdowns:                   41",
            f"Media and Data Integrity Errors:    {self.media_errors}",
            f"Error Information Log Entries:      {self.error_entries}",
            "Warning  Comp. Temperature Time:    0",
            "Critical Comp. Temperature Time:    0",
            "",
            "Error Information (NVMe Log 0x01, 16 of 64 entries)",
            "No Errors Logged",
        ]

    def _nvme_json(self) -> dict[str, Any]:
        return {
            "nvme_total_capacity": self.size,
            "nvme_smart_health_information_log": {
                "critical_warning": self.critical_warning,
                "temperature": self.celsius,
                "available_spare": 97,
                "available_spare_threshold": 10,
                "percentage_used": self.used_percent,
                "data_units_read": 9127330,
                "data_units_written": 6402118,
                "host_reads": 120332871,
                "host_writes": 98220145,
                "controller_busy_time": 402,
                "power_cycles": 812,
                "power_on_hours": self.hours,
                "unsafe_shutdowns": 41,
                "media_errors": self.media_errors,
                "num_err_log_entries": self.error_entries,
                "warning_temp_time": 0,
                "critical_comp_time": 0,
            },
        }
