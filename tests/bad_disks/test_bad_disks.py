"""Bad disks made by a real kernel, and what livecheck finds; one boot for all (``--boot``).

Outside sources: scsi_debug (opts=2: medium errors at sector 1234h and the nine after it; Linux
``drivers/scsi/scsi_debug.c``), the device mapper's error and delay targets
(Documentation/admin-guide/device-mapper), QEMU's emulated SATA drive and its own log of
self-tests (hw/ide/core.c), CDROM_DRIVE_STATUS of emulated optical drives, the kernel's
count of write operations (Documentation/admin-guide/iostats.rst).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.bad_disks import guest

pytestmark = pytest.mark.boot

FIRST, LENGTH = 0x1234 * 512, 10 * 512

DEVICES = (
    "-device ide-hd,drive=sata,bus=ide.0,serial=LC0001,model=Fennel",
    "-device ide-cd,drive=disc,bus=ide.1",
    "-device ide-cd,bus=ide.2",
    "-device virtio-blk-pci,drive=plain",
)


@pytest.fixture(scope="module")
def found(image: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Any]]:
    """What the guest told, by stage."""
    why = guest.missing()
    if why is not None:
        pytest.skip(why)
    work = tmp_path_factory.mktemp("bad-disks")
    yield guest.boot(image, work, {"sata": 64 << 20, "disc": 24 << 20, "plain": 64 << 20}, DEVICES)


def _reading(stage: dict[str, Any], check: str, device: str | None = None) -> dict[str, Any]:
    assert "trouble" not in stage, stage.get("trouble")
    rows = [
        r for r in stage["readings"]
        if r["check"] == check and device in (None, r.get("device"))
    ]  # fmt: skip
    assert rows, (check, stage)
    row: dict[str, Any] = rows[0]
    return row


def test_unreadable_sectors_are_found_exactly(found: dict[str, Any]) -> None:
    """Ten sectors of 512 bytes, no more and no fewer; the rest is read."""
    row = _reading(found["sectors"], "storage.read-errors")
    assert (row["outcome"], row["value"]) == ("failed", LENGTH)
    assert [d for d in row["details"] if d.startswith("at byte")] == [
        f"at byte {FIRST}: {LENGTH} bytes, tried 3 times"
    ]


def test_nothing_is_written(found: dict[str, Any]) -> None:
    """The kernel counts no write to any disk, over probes, a whole run and all that it asks."""
    for stage in ("sectors", "whole_run"):
        before, after = found[stage]["writes"]
        assert set(before) & set(after), stage
        assert {name: after[name] - before[name] for name in before if name in after} == (
            dict.fromkeys((n for n in before if n in after), 0)
        )


def test_a_whole_run_tells_drives_apart(found: dict[str, Any]) -> None:
    """The bad disk fails, the SATA drive beside it passes; the report shows its drives."""
    stage = found["whole_run"]
    assert stage["status"] == 0, stage["said"]
    assert stage["report"]
    rows = stage["run"]["readings"]
    by_device = {r.get("device"): r["outcome"] for r in rows if r["check"] == "storage.read-errors"}
    assert sorted(by_device.values()).count("failed") == 1
    sata = next(p for p in stage["run"]["inventory"]["parts"] if p.get("serial") == "LC0001")
    assert by_device[sata["block"]] == "passed"


def test_a_disc_is_read_and_an_empty_tray_is_not_tested(found: dict[str, Any]) -> None:
    """The kernel says 4 (disc in) of one and 1 or 2 of the other; only the first is read."""
    trays = {k: v for k, v in found["optical"].items() if k.startswith("sr")}
    assert sorted(state == 4 for state in trays.values()) == [False, True]
    run = found["whole_run"]["run"]
    (read,) = [r for r in run["readings"] if r["check"] == "storage.disc-read"]
    assert (read["outcome"], trays[read["device"]]) == ("passed", 4)
    why = [n["why"] for n in run["not_tested"] if n["what"] == "Reading a disc"]
    assert len(why) == 1
    assert "insert a known-good pressed disc" in why[0]


def test_a_drive_tests_itself(found: dict[str, Any]) -> None:
    """Asked for, begun by the real smartctl, passed; the drive's own log holds it."""
    stage = found["self_test"]
    assert stage["status"] == 0, stage["said"]
    assert "CAUTION" in stage["said"]
    assert _reading(stage, "storage.self-test")["outcome"] == "passed"
    table = stage["log"]["standard"]["table"]
    assert len(table) == 1
    assert table[0]["type"]["string"].startswith("Short")


def test_holes_are_found_exactly(found: dict[str, Any]) -> None:
    """One sector, a hundred sectors and three MiB of the error target, each to the sector."""
    stage = found["holes"]
    assert "trouble" not in stage, stage.get("trouble")
    assert stage["bad"] == stage["wanted"]
    assert stage["ended"] is None


def test_a_stall_costs_one_reading(found: dict[str, Any]) -> None:
    """A read held back for 120 s is given up after 30; the next drive is tested all the same."""
    stage = found["stall"]
    assert _reading(stage, "storage.read-stalls", stage["slow"])["outcome"] == "failed"
    assert _reading(stage, "storage.read-errors", stage["slow"])["outcome"] == "not judged"
    for check in ("storage.read-errors", "storage.read-stalls"):
        assert _reading(stage, check, stage["sound"])["outcome"] == "passed"
    assert [p["ended"] for p in stage["probes"]] == ["done"]
    assert 30 <= stage["seconds"] < 100


def test_a_drive_that_disappears_is_told_as_that(found: dict[str, Any]) -> None:
    """Deleted from the bus half-way: no bad sectors, and no crash."""
    row = _reading(found["vanish"], "storage.read-errors")
    assert (row["outcome"], row["value"]) == ("failed", "disappeared")
    assert [p["ended"] for p in found["vanish"]["probes"]] == ["done"]
