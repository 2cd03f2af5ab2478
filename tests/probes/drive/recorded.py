"""Recorded drives as a host that answers smartctl: command output in.

``text``: pySMART's recordings hold what smartctl printed; its JSON then is that text in
smartctl's envelope. ``blob``: libatasmart's recordings hold the sectors; the attribute table
is put into smartctl's JSON and text, without a drive database.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from livecheck.host import CommandResult
from livecheck.probes.drive.smart_data import AtaAttribute
from tests.probes.drive import smart_blobs

FAILING = 8
"""smartctl(8), exit status bit 3: the drive says that it is failing."""


class RecordedHost:
    """Only what ``smart.ask`` uses: smartctl's answers."""

    def __init__(self, detected: bytes, full: dict[str, Any]) -> None:
        self._detected = detected
        self._full = full

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        if "test" in argv:
            return CommandResult(0, self._detected, b"")
        if "--all" not in argv:
            return CommandResult(1, b"", b"")
        status = self._full["smartctl"]["exit_status"]
        return CommandResult(status, json.dumps(self._full).encode(), b"")


def text(recording: Path) -> RecordedHost:
    """A recorded output of ``smartctl -d KIND --all``."""
    match = re.match(r"_-d_([\w+,]+)_--all", recording.name)
    kind = match[1] if match else "sat"
    raw = recording.read_bytes()
    try:
        lines = raw.decode("utf-8").split("\n")
    except UnicodeDecodeError:
        # A system of another code page, that groups digits by no-break spaces; the stick asks
        # in the C locale.
        lines = raw.decode("cp1252", "replace").replace("\xa0", ",").split("\n")
    detected = f"/dev/x: Device of type '{kind}' [{kind.upper()}] opened\n"
    return RecordedHost(
        detected.encode(),
        {
            "smartctl": {"output": lines, "exit_status": 0},
            "device": {"type": kind.partition(",")[0]},
        },
    )


def blob(recording: Path) -> RecordedHost:
    """Recorded sectors, as smartctl would print them."""
    data = smart_blobs.read(recording)
    rows = data.ata.attributes if data.ata is not None else ()
    status = FAILING if data.passed is False else 0
    full: dict[str, Any] = {
        "smartctl": {"output": _lines(rows, data.passed), "exit_status": status},
        "device": {"type": "sat", "protocol": "ATA"},
        "smart_support": {"available": True, "enabled": True},
        "rotation_rate": 0 if data.solid_state else 5400,
        "ata_smart_attributes": {"table": [_row(row) for row in rows]},
    }
    if data.passed is not None:
        full["smart_status"] = {"passed": data.passed}
    return RecordedHost(b"/dev/x: Device of type 'sat' [ATA] opened\n", full)


def _row(row: AtaAttribute) -> dict[str, Any]:
    return {
        "id": row.number,
        "name": "Unknown_Attribute",
        "value": row.value,
        "worst": row.worst,
        **({"thresh": row.threshold} if row.threshold is not None else {}),
        "flags": {"prefailure": row.prefailure},
        "raw": {"value": row.raw},
    }


def _lines(rows: Sequence[AtaAttribute], passed: bool | None) -> list[str]:
    verdict = {True: "PASSED", False: "FAILED!"}.get(passed) if passed is not None else None
    table = [
        f"{row.number:3d} {'Unknown_Attribute':<24}0x{'0033' if row.prefailure else '0032'}"
        f"   {row.value:03d}   {row.worst:03d}   {row.threshold or 0:03d}    "
        f"{'Pre-fail' if row.prefailure else 'Old_age '}  Always       -       {row.raw}"
        for row in rows
    ]
    return [
        "smartctl 7.3 2022-02-28 r5338 [x86_64-linux-6.1.0] (local build)",
        "",
        "=== START OF INFORMATION SECTION ===",
        "Device Model:     RECORDED",
        "SMART support is: Available - device has SMART capability.",
        "SMART support is: Enabled",
        "",
        "=== START OF READ SMART DATA SECTION ===",
        *([f"SMART overall-health self-assessment test result: {verdict}", ""] if verdict else []),
        "SMART Attributes Data Structure revision number: 16",
        "Vendor Specific SMART Attributes with Thresholds:",
        "ID# ATTRIBUTE_NAME          FLAG     VALUE WORST THRESH TYPE      "
        "UPDATED  WHEN_FAILED RAW_VALUE",
        *table,
        "",
        "SMART Error Log Version: 1",
        "No Errors Logged",
        "",
    ]
