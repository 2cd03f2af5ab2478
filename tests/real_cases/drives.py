"""What smartctl says of a drive whose figures a thread shows: its text and its JSON."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any, Final

import msgspec

from tests.testbeds.smartctl import Drive


@dataclass(frozen=True)
class PostedDrive(Drive):
    """A drive with the attribute rows, self-test log and NVMe log of a thread.

    ``scsi``: it answers as SCSI disks do; ``json``: what smartctl said beside, or with ``only``
    in place of everything; ``exit``: its status.
    """

    figures: dict[str, Any] = field(default_factory=dict)

    @property
    def failing(self) -> bool:
        return self.figures.get("passed", True) is False

    @property
    def status(self) -> int:
        return int(self.figures.get("exit", super().status))

    def json(self) -> dict[str, Any]:
        if self.figures.get("only"):
            return dict(self.figures["json"])
        if self.figures.get("scsi"):
            kept = {k: v for k, v in super().json().items() if not k.startswith("ata_")}
            kept["device"] = {"name": "/dev/x", "type": "scsi", "protocol": "SCSI"}
            return {**kept, **self.figures["json"]}
        return self._own_json()

    def detected(self) -> str:
        told = super().detected()
        return told.replace("'sat' [ATA]", "'scsi' [SCSI]") if self.figures.get("scsi") else told

    def _own_json(self) -> dict[str, Any]:
        found = super().json()
        if self.nvme:
            log = found["nvme_smart_health_information_log"]
            log |= self.figures.get("log", {})
            if "temperature_sensors" in log:
                log["temperature_sensors"] = [_known(c) for c in log["temperature_sensors"]]
            found["temperature"] = {"current": log["temperature"]}
            return found
        rows = [_row(row) for row in self.figures.get("rows", ())]
        if rows:
            found["ata_smart_attributes"] = {"table": rows}
        if "errors" in self.figures:
            found["ata_smart_error_log"]["summary"]["count"] = self.figures["errors"]
        tests = [_self_test(row) for row in self.figures.get("self_tests", ())]
        if tests:
            found["ata_smart_self_test_log"] = {"standard": {"table": tests}}
        found["rotation_rate"] = 5400 if self.figures.get("rotational") else 0
        return found

    def _ata_lines(self) -> list[str]:
        if self.figures.get("scsi"):
            return _scsi_lines(self.figures["json"])
        lines = super()._ata_lines()
        if "rows" in self.figures:
            begin = next(n for n, line in enumerate(lines) if line.startswith("ID#")) + 1
            end = lines.index("", begin)
            lines[begin:end] = [_text_row(row) for row in self.figures["rows"]]
        if self.figures.get("rotational"):
            spin = lines.index("Rotation Rate:    Solid State Device")
            lines[spin] = "Rotation Rate:    5400 rpm"
        if "self_tests" in self.figures:
            head = (
                "Num  Test_Description    Status                  Remaining  "
                "LifeTime(hours)  LBA_of_first_error"
            )
            lines[-1:] = [head, *self.figures["self_tests"]]
        if self.failing:
            lines = [line.replace("result: PASSED", "result: FAILED!") for line in lines]
        return lines


def _known(figure: int | str) -> int | None:
    """TOML has no null."""
    return None if isinstance(figure, str) else figure


def _scsi_lines(told: dict[str, Any]) -> list[str]:
    """smartctl's text of a SCSI disk (scsiprint.cpp): what it is, or why it cannot be asked."""
    if "vendor" not in told:
        return [row["string"] for row in told["smartctl"]["messages"]]
    return [
        "=== START OF INFORMATION SECTION ===",
        f"Vendor:               {told['vendor']}",
        f"Product:              {told['product']}",
        f"Compliance:           {told['scsi_version']}",
        "Transport protocol:   SAS (SPL-3)",
        "SMART support is:     Available - device has SMART capability.",
        "SMART support is:     Enabled",
        "",
        "=== START OF READ SMART DATA SECTION ===",
        "SMART Health Status: OK",
        "",
        f"Elements in grown defect list: {told['scsi_grown_defect_list']}",
    ]


_ROW: Final = re.compile(
    r"\s*(\d+) (.+?)\s+0x([0-9a-f]{4})\s+(\d+|---)\s+(\d+|---)\s+(\d+|---)\s+(Pre-fail|Old_age)"
    r"\s+(\w+)\s+(?:(-|FAILING_NOW|In_the_past)\s+)?(\S.*)"
)
"""A row as threads show it; figures have leading zeros, and dashes where there is none."""


class _Row(msgspec.Struct, frozen=True):
    number: int
    name: str
    flags: int
    value: int | None
    worst: int | None
    threshold: int | None
    kind: str
    updated: str
    when_failed: str
    raw: str


def _read(row: str) -> _Row:
    found = _ROW.fullmatch(row)
    assert found, row
    number, name, flags, value, worst, threshold, kind, updated, when_failed, raw = found.groups()
    return _Row(
        int(number), name, int(flags, 16), _figure(value), _figure(worst), _figure(threshold),
        kind, updated, when_failed or "-", raw,
    )  # fmt: skip


def _figure(words: str) -> int | None:
    return None if words == "---" else int(words)


def _text_row(row: str) -> str:
    one = _read(row)
    value, worst, threshold = (
        "---" if figure is None else f"{figure:03d}"
        for figure in (one.value, one.worst, one.threshold)
    )
    return (
        f"{one.number:3d} {one.name:<24}0x{one.flags:04x}   {value}   {worst}   "
        f"{threshold}    {one.kind:<9} {one.updated:<8} {one.when_failed:<11} {one.raw}"
    )


def _row(row: str) -> dict[str, Any]:
    one = _read(row)
    first = re.match(r"0x[0-9a-f]+|\d+", one.raw)
    figures = {"value": one.value, "worst": one.worst, "thresh": one.threshold}
    return {
        "id": one.number,
        "name": one.name,
        **{key: figure for key, figure in figures.items() if figure is not None},
        "when_failed": {"-": "", "FAILING_NOW": "now", "In_the_past": "past"}[one.when_failed],
        "flags": {"value": one.flags, "prefailure": bool(one.flags & 1)},
        "raw": {
            "value": int(first[0], 16 if first[0].startswith("0x") else 10) if first else 0,
            "string": one.raw,
        },
    }


def _self_test(row: str) -> dict[str, Any]:
    """``# 1  Short offline  Completed: read failure  90%  2126  57169643``."""
    kind, status, remaining, hours, lba = (
        word.strip() for word in row.partition("  ")[2].split("  ") if word.strip()
    )
    failed = "failure" in status
    return {
        "type": {"string": kind},
        "status": {
            "string": status,
            "passed": not failed,
            "remaining_percent": int(remaining[:-1]),
        },
        "lifetime_hours": int(hours),
        **({"lba": int(lba)} if lba != "-" else {}),
    }
