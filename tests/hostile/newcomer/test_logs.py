"""Evidence that is old, doubled or another part's, and files that are no runs.

Sources: drivers/ata/libata-core.c (ata_dev_configure: ``ata1.00: ATA-9: model, firmware``);
libata-eh.c and block/blk-core.c for the errors; Documentation/admin-guide/dynamic-debug is not
needed for any of them.
"""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from typing import Final

import msgspec
import pytest

from livecheck import cli, guarded, saved_log
from livecheck.casefile import Shop
from livecheck.records import Complaint, Location, Run, encode
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, command
from tests.hostile.newcomer.test_drive import raw
from tests.hostile.outsider.support import accused, located, looked
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

BANNER: Final = "Linux version 6.1.0-18-amd64 (gcc 12) #1 SMP Debian"
ERRORS: Final = (
    "ata1.00: exception Emask 0x0 SAct 0x8 SErr 0x0 action 0x0",
    "ata1.00: failed command: READ FPDMA QUEUED",
    "ata1.00: status: { DRDY ERR }",
    "ata1.00: error: { UNC }",
    "blk_update_request: I/O error, dev sda, sector 2048 op 0x0:(READ) flags 0x0 phys_seg 1",
)


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return drives.drive(tmp_path / "drive")


def _log(model: str, day: str = "2026-02-11", times: int = 3) -> str:
    head = (
        BANNER,
        f"ata1.00: ATA-9: {model}, V1.07, max UDMA/133",
        f"scsi 0:0:0:0: Direct-Access     ATA      {model:16} 1.07 PQ: 0 ANSI: 5",
        "sd 0:0:0:0: [sda] 976773168 512-byte logical blocks: (500 GB/466 GiB)",
    )
    lines = [*head, *(ERRORS * times)]
    return "".join(
        f"{day}T10:00:{n:02d}+0000 laptop kernel: {line}\n" for n, line in enumerate(lines)
    )


def _read(run: Run, text: str, file: Path) -> Run:
    """What ``read-log`` makes of it, on this machine."""
    file.write_text(text)
    log = saved_log.read_files([file], run.inventory, 2026)
    return saved_log.run_of(log, msgspec.structs.replace(run, readings=(), number=run.number + 1))


def _model(run: Run) -> str:
    return next(p.model or "" for p in run.inventory.parts if p.block == "sda")


def _drive(run: Run) -> str:
    return next(p.id for p in run.inventory.parts if p.block == "sda")


def _chance(found: Location, component: str) -> float:
    return next((c.probability for c in found.candidates if c.component == component), 0.0)


@pytest.fixture(scope="module")
def live() -> Run:
    return looked(BedHost(laptops.ahci()))


def test_one_log_read_by_two_commands(live: Run, tmp_path: Path) -> None:
    """O01: what was read twice happened once."""
    live = msgspec.structs.replace(live, complaint=Complaint.SLOW)
    once = _read(live, _log(_model(live)), tmp_path / "log")
    twice = msgspec.structs.replace(once, number=once.number + 1)
    first, second = located(live, once), located(live, once, twice)
    assert _chance(first, _drive(live)) > 0.1
    assert _chance(second, _drive(live)) <= _chance(first, _drive(live)) + 0.05


def test_a_log_of_the_drive_before(live: Run, tmp_path: Path) -> None:
    """O02: the log names another model at the same port."""
    old = _read(live, _log("Gamayun HD-500"), tmp_path / "log")
    assert _drive(live) not in accused(located(live, old))


def test_a_log_from_before_the_repair(live: Run, tmp_path: Path) -> None:
    """O03: the drive was exchanged on 1 March for one of the same model; the log is February's."""
    before = msgspec.structs.replace(live, number=1, started="2026-02-20T09:00:00Z")
    new = "drive:serial:LATER-1"
    text = encode(live).decode().replace(json.dumps(_drive(live)), json.dumps(new))
    after = msgspec.json.decode(text, type=Run)
    parts = tuple(
        msgspec.structs.replace(p, identity="serial:LATER-1", serial="LATER-1")
        if p.id == new
        else p
        for p in after.inventory.parts
    )
    held = msgspec.structs.replace(after.inventory, parts=parts)
    after = msgspec.structs.replace(after, number=2, started="2026-03-01T09:00:00Z", inventory=held)
    late = _read(after, _log(_model(after)), tmp_path / "log")
    assert _chance(located(before, after), new) < 0.3
    assert new not in accused(located(before, after, late))


def test_a_run_saved_again(shop: Shop, tmp_path: Path) -> None:
    """O04: from the file it was kept in; once it was taken out it stays out."""
    run = msgspec.structs.replace(
        drives.first(shop).load().runs[0], started="2026-03-07T10:00:00Z", number=0
    )
    file = tmp_path / "livecheck-run-kept.json"
    file.write_bytes(encode(run))
    words = ("save", str(file), "--shop", str(shop.root), "--case", "2026-03-02-T-0")
    for _ in range(2):
        status, _, err = command(*words)
        assert status == 0, err
    case = drives.first(shop)
    assert case.run_numbers() == (1, 2)
    assert command("take-out", str(case.path), "2", "--why", "another laptop")[0] == 0
    command(*words)
    assert [one.started for one in case.load().runs].count(run.started) == 0
    assert case.run_numbers() == (1, 2)


def test_files_that_are_no_runs(shop: Shop, tmp_path: Path) -> None:
    """O05: what lies beside a run is easily dragged in its place."""
    case = drives.first(shop)
    others = [
        case.case_file,
        case.report_file,
        case.path,
        CAPTURE,
        shop.root / "shop.toml",
        case.path / "outcomes/0001/outcome.json",
        case.summary_file,
    ]
    before = sorted(str(path) for path in shop.cases_folder.rglob("run.json"))
    for file in others:
        status, _, err = command("save", str(file), "--shop", str(shop.root), "--ticket", "T-5")
        assert status in (cli.WRONG_USAGE, cli.FAILED), (file, err)
        assert err.startswith("livecheck: ")
    assert sorted(str(path) for path in shop.cases_folder.rglob("run.json")) == before
    assert {entry.case.ticket for entry in shop.entries() if entry.case} == {"T-0", "T-1"}


@pytest.mark.parametrize("years", [("2036", "2025"), ("1970", "2026"), ("2026", "2099")])
def test_clocks_of_captures(years: tuple[str, str], shop: Shop, tmp_path: Path) -> None:
    """O06: a board's clock that lost its battery between two runs."""
    plain = guarded.unpacked(CAPTURE.read_bytes())
    for year in years:
        file = tmp_path / f"{year}.capture"
        file.write_bytes(gzip.compress(plain.replace(b"2026-03-02T", f"{year}-03-02T".encode())))
        status, _, err = command(
            "run",
            "--from",
            str(file),
            "--probes",
            "power,kernel",
            "--shop",
            str(shop.root),
            "--ticket",
            "T-C",
        )
        assert status == 0, err
    (entry,) = (one for one in shop.entries() if one.case and one.case.ticket == "T-C")
    record = Path(entry.path) / "report.html"
    assert command("report", entry.path)[0] == 0
    assert "-1" not in {word for word in record.read_text("utf-8").split() if word.isdigit()}
    assert [
        raw(Path(entry.path) / "runs" / n / "run.json")["number"] for n in ("0001", "0002")
    ] == [1, 2]
    found = json.loads(command("locate", entry.path, "--json")[1])
    assert found["runs"] == 2
