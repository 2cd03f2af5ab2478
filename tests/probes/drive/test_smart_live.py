"""Drive health by the live way: what smartctl prints goes in, findings come out.

Recordings as in test_smart.py: pySMART 1.4.3's test data (sound drives) and libatasmart
0.19's blob-examples (bad and weird ones). JSON keys: smartmontools 7.3 and 7.4.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from livecheck import knowledge
from livecheck.probes.drive import smart
from livecheck.probes.drive.smart_data import SmartData
from livecheck.probes.drive.smart_judge import judge
from livecheck.probes.finding import Finding
from livecheck.records import Outcome
from tests import corpora
from tests.probes.drive import recorded
from tests.probes.drive.test_smart import BLOBS, LOST

CHECKS = knowledge.load().checks


def _asked(host: recorded.RecordedHost) -> SmartData:
    return smart.ask(host, "x")  # type: ignore[arg-type]  # it answers all that is asked


def _found(data: SmartData) -> dict[str, Finding]:
    return {one.check: one for one in judge(data, CHECKS)}


def _failed(data: SmartData) -> set[str]:
    return {one.check for one in judge(data, CHECKS) if one.outcome is Outcome.FAILED}


def _sound() -> list[Path]:
    folder = corpora.smartctl_outputs()
    return sorted(path for path in folder.rglob("*--all*") if path.is_file())


def test_every_recorded_sound_drive_gives_no_failed_finding() -> None:
    """And all but a RAID volume and an unsupported device are told to rate themselves well."""
    passed, unread = 0, []
    for recording in _sound():
        data = _asked(recorded.text(recording))
        assert _failed(data) == set(), recording
        health = _found(data)["storage.health"]
        passed += health.outcome is Outcome.PASSED
        if health.outcome is Outcome.NOT_JUDGED:
            unread.append(recording.parent.name)
    assert passed == len(_sound()) - 2
    assert sorted(unread) == ["megaraid_vd_0", "unsupported_0"]


def test_sound_drives_with_an_attribute_table_are_read_whole() -> None:
    """Blank lines end smartctl's tables: without them pySMART reads none of what follows."""
    tables = [p for p in _sound() if "Vendor Specific SMART Attributes" in _text(p)]
    assert len(tables) >= 10
    for recording in tables:
        data = _asked(recorded.text(recording))
        assert data.ata is not None, recording
        assert data.ata.attributes, recording
        wanted = "No self-tests have been logged" not in _text(recording)
        if wanted and "\n# 1 " in _text(recording):
            assert data.self_tests, recording


def _text(recording: Path) -> str:
    return recording.read_text("utf-8", "replace")


@pytest.mark.parametrize("name", BLOBS)
def test_a_bad_drive_fails_where_its_sectors_say_so(name: str) -> None:
    """The expectations of test_smart.py, through smartctl's JSON and text."""
    data = _asked(recorded.blob(corpora.smart_blobs() / name))
    failed, sectors, _ = BLOBS[name]
    assert _failed(data) - {"storage.temperature"} == failed
    assert _found(data)[LOST].value in (sectors, None)


# --- What the JSON says stands


def _json(**keys: Any) -> SmartData:
    return smart.from_json({"smartctl": {"exit_status": 0}, "device": {"type": "sat"}, **keys})


def _test_row(status: str, passed: bool, hours: int, lba: int | None = None) -> dict[str, Any]:
    return {
        "type": {"value": 1, "string": "Short offline"},
        "status": {"value": 0, "string": status, "remaining_percent": 90, "passed": passed},
        "lifetime_hours": hours,
        **({"lba": lba} if lba is not None else {}),
    }


def test_four_failed_self_tests_at_one_sector_are_told() -> None:
    """A public thread: four tests of the drive stop at sector 57169643."""
    rows = [_test_row("Completed: read failure", False, 2126, 57169643) for _ in range(4)]
    table = {"table": [{"id": 5, "value": 100, "raw": {"value": 0, "string": "0"}}]}
    data = _json(ata_smart_attributes=table, ata_smart_self_test_log={"standard": {"table": rows}})
    found = _found(data)["storage.self-test-log"]
    assert found.outcome is Outcome.FAILED
    assert "sector 57169643" in found.says
    assert "4 of 4" in found.says


def test_a_test_that_was_broken_off_decides_nothing() -> None:
    """smartctl counts an aborted test as passed; the one before it decides."""
    rows = [
        _test_row("Aborted by host", True, 300),
        _test_row("Completed: read failure", False, 200, 7),
    ]
    data = _json(
        ata_smart_attributes={"table": [{"id": 5, "value": 100, "raw": {"value": 0}}]},
        ata_smart_self_test_log={"extended": {"table": rows}},
    )
    assert _found(data)["storage.self-test-log"].outcome is Outcome.FAILED


@pytest.mark.parametrize(
    ("log", "outcome"),
    [
        ({"self_test_result": {"value": 0, "string": "Completed without error"}}, Outcome.PASSED),
        (
            {"self_test_result": {"value": 7, "string": "Completed: failed segments"}},
            Outcome.FAILED,
        ),
        ({"self_test_result": {"value": 1, "string": "Aborted: Self-test command"}}, None),
    ],
)
def test_the_self_test_log_of_an_nvme_drive(log: dict[str, Any], outcome: Outcome | None) -> None:
    """NVM Express base specification: results 5, 6 and 7 are failures, 1 to 4 and 8 no end."""
    data = _json(
        nvme_smart_health_information_log={"critical_warning": 0, "media_errors": 0},
        nvme_self_test_log={"table": [{"self_test_code": {"string": "Short"}, **log}]},
    )
    wanted = Outcome.NOT_JUDGED if outcome is None else outcome
    assert _found(data)["storage.self-test-log"].outcome is wanted


@pytest.mark.parametrize(("rate", "failed"), [(0, set()), (5400, {LOST})])
def test_replaced_blocks_are_age_in_flash_and_damage_on_a_disk(rate: int, failed: set[str]) -> None:
    """The drive's type is smartctl's rotation rate: 0 is flash."""
    row = {"id": 5, "name": "Reallocated", "value": 100, "raw": {"value": 12, "string": "12"}}
    data = _json(ata_smart_attributes={"table": [row]}, rotation_rate=rate)
    assert _failed(data) == failed


def test_smartctls_own_verdict_stands_against_pysmarts() -> None:
    """The text says PASSED, the JSON's verdict is that of the drive: it failed."""
    host = recorded.blob(corpora.smart_blobs() / "WDC_WD2500JS-75NCB3--10.02E04")
    host._full["smart_status"] = {"passed": False}
    assert "storage.health" in _failed(_asked(host))


def test_counts_of_a_dying_disk_stand_in_the_finding() -> None:
    """A public thread: 2872 sectors replaced, 624 waiting and unreadable."""
    rows = [
        {"id": n, "value": 99, "raw": {"value": c, "string": str(c)}}
        for n, c in ((5, 2872), (197, 624), (198, 624))
    ]
    data = _json(ata_smart_attributes={"table": rows}, rotation_rate=7200)
    found = _found(data)[LOST]
    assert (found.value, found.unit) == (2872 + 624, "sectors")


def test_life_used_up_is_read_from_the_makers_attribute() -> None:
    """A public thread: Percent_Lifetime_Remain at 0 (drivedb: falls from 100 to 0)."""
    row = {"id": 202, "name": "Percent_Lifetime_Remain", "value": 0, "thresh": 1,
           "raw": {"value": 100, "string": "100"}}  # fmt: skip
    data = _json(ata_smart_attributes={"table": [row]}, rotation_rate=0)
    assert _found(data)["storage.wear"].value == 100
    newer = _json(endurance_used={"current_percent": 41}, ata_smart_attributes={"table": [row]})
    assert _found(newer)["storage.wear"].value == 41


def test_a_sas_drives_logs_are_read_from_the_json() -> None:
    """smartmontools 7.3 scsiprint.cpp: grown defects and uncorrected errors."""
    data = smart.from_json(
        {
            "device": {"type": "scsi"},
            "scsi_grown_defect_list": 3,
            "scsi_error_counter_log": {"read": {"total_uncorrected_errors": 2}},
            "scsi_self_test_0": {
                "code": {"string": "Background long"},
                "result": {"value": 7, "string": "Failed in segment"},
            },
        }
    )
    assert _failed(data) == {LOST, "storage.self-test-log"}
    assert _found(data)[LOST].value == 5
