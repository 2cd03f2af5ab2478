"""Drives that people posted, by the live way: sound ones give no failed finding, bad ones do.

``posted_tables.toml`` has the tables; smartctl's text and JSON around them are made here.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

import pytest

from livecheck import knowledge
from livecheck.probes.drive import smart, smart_count
from livecheck.probes.drive.smart_data import AtaAttribute, SmartData
from livecheck.probes.drive.smart_judge import judge
from livecheck.probes.finding import Finding
from livecheck.records import Outcome
from tests.probes.drive.recorded import RecordedHost
from tests.real_cases.drives import PostedDrive

CHECKS = knowledge.load().checks

POSTED: Final = tomllib.loads((Path(__file__).parent / "posted_tables.toml").read_text("utf-8"))

DRIVES: Final[tuple[dict[str, Any], ...]] = tuple(POSTED["drive"])

LOGS: Final[tuple[dict[str, Any], ...]] = tuple(POSTED["nvme"])

SOUND: Final = tuple(one for one in DRIVES if not one.get("failed"))

TEMPERATURES: Final = (194, 190)
"""smartctl's temperature is attribute 194, else 190 (smartmontools 7.3 ``ataprint.cpp``)."""


def _names(drives: Iterable[dict[str, Any]]) -> list[Any]:
    return [pytest.param(one, id=one["name"]) for one in drives]


def _asked(drive: dict[str, Any]) -> SmartData:
    rows = drive["rows"].strip().splitlines()
    raw = {int(row.split()[0]): re.split(r" (?:Always|Offline) \S+ ", row)[1] for row in rows}
    heat = next((int(raw[n].split()[0]) for n in TEMPERATURES if n in raw), 0)
    posted = PostedDrive(
        model="POSTED", serial="S", firmware="F", size=10**12, celsius=heat,
        figures={**drive, "rows": rows},
    )  # fmt: skip
    return _read(posted)


def _read(posted: PostedDrive) -> SmartData:
    answers = posted.answers()
    host = RecordedHost(answers["detected"].encode(), answers["json"])
    return smart.ask(host, "x")  # type: ignore[arg-type]  # it answers all that is asked


def _found(data: SmartData) -> dict[str, Finding]:
    return {one.check: one for one in judge(data, CHECKS)}


def _failed(data: SmartData) -> set[str]:
    return {one.check for one in judge(data, CHECKS) if one.outcome is Outcome.FAILED}


def test_the_makers_are_many() -> None:
    assert len(SOUND) >= 20
    assert len({one["name"].split()[0] for one in SOUND}) >= 12
    assert len(DRIVES) > len(SOUND)


@pytest.mark.parametrize("drive", _names(DRIVES))
def test_a_posted_drive_fails_where_it_should_and_nowhere_else(drive: dict[str, Any]) -> None:
    data = _asked(drive)
    assert data.ata is not None
    assert len(data.ata.attributes) == len(drive["rows"].strip().splitlines())
    assert _failed(data) == set(drive.get("failed", ()))
    assert _found(data)["storage.health"].outcome is not Outcome.NOT_JUDGED


def test_a_fault_has_a_figure() -> None:
    """A drive that reported sectors and replaced none lost something all the same."""
    for drive in DRIVES:
        if drive.get("failed"):
            value = _found(_asked(drive))["storage.medium-errors"].value
            assert isinstance(value, int), drive["name"]
            assert value > 0, drive["name"]


@pytest.mark.parametrize("drive", _names(LOGS))
def test_a_sound_nvme_drive_fails_nowhere(drive: dict[str, Any]) -> None:
    posted = PostedDrive(
        model="POSTED", serial="S", firmware="F", size=10**12, nvme=True, figures=drive
    )
    data = _read(posted)
    assert _failed(data) == set()
    if not drive["log"]["available_spare"]:
        # A log of zeros tells neither health nor a fault.
        assert data.nvme is None
        assert _found(data)["storage.health"].outcome is Outcome.NOT_JUDGED
        return
    assert data.nvme is not None
    assert data.nvme.power_on_hours == drive["log"]["power_on_hours"]
    assert _found(data)["storage.health"].outcome is Outcome.PASSED


@pytest.mark.parametrize("drive", _names(DRIVES))
def test_what_is_used_up_is_read_where_the_drive_tells_it(drive: dict[str, Any]) -> None:
    """A name alone is not enough: Western Digital's 230 is no figure that falls from 100."""
    wear = _found(_asked(drive)).get("storage.wear")
    assert (wear.value if wear else None) == drive.get("used")


@pytest.mark.parametrize(
    ("number", "name", "counts"),
    [
        (5, "Retired_Block_Count", True),
        (184, "Factory_Bad_Block_Count", False),
        (184, "IO_Error_Detect_Code_Ct", True),
        (187, "Reported_UE_Counts", True),
        (187, "Unknown_JMF_Attribute", False),
        (197, "Not_In_Use", False),
        (197, "Total_Unc_Read_Failures", True),
        (198, "Host_Reads_GiB", False),
        (198, "Uncor_Read_Error_Ct", True),
        (199, "Host_Writes_GiB", False),
        (199, "SATA_CRC_Error", True),
        (199, "Unknown_Attribute", True),
        (199, "", True),
    ],
)
def test_a_count_is_what_smartctls_database_calls_it(number: int, name: str, counts: bool) -> None:
    """Names out of smartmontools' ``drivedb.h``: some makers keep other things there."""
    row = AtaAttribute(number=number, name=name, value=100, worst=100, raw=7, raw_text="7")
    assert smart_count.means_it(row) is counts


def test_gibibytes_read_are_no_unreadable_sectors() -> None:
    """A family of flash drives keeps what was read and written in 198 and 199 (drivedb.h)."""
    rows = [
        {"id": 198, "name": "Host_Reads_GiB", "value": 100, "raw": {"value": 5210}},
        {"id": 199, "name": "Host_Writes_GiB", "value": 100, "raw": {"value": 8800}},
    ]
    data = smart.from_json({"device": {"type": "sat"}, "ata_smart_attributes": {"table": rows}})
    assert _failed(data) == set()


@pytest.mark.parametrize(("heat", "failed"), [(128, set()), (90, {"storage.temperature"})])
def test_a_drive_without_a_sensor_is_not_hot(heat: int, failed: set[str]) -> None:
    """Its firmware shows a number no drive could work at."""
    data = smart.from_json({"temperature": {"current": heat}, "rotation_rate": 0})
    assert _failed(data) == failed
