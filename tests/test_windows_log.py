"""The event log of an installed Windows, read from its NTFS without mounting it.

Logs are written by ``tests.event_log``; what is in them is held against libevtx' ``evtxexport``.
Fields of events are those of published ones: Microsoft, "Event ID 41" (BugcheckCode,
PowerButtonTimestamp), "Bug Check Code Reference" (parameters of 0x7A), WHEA-Logger's events 18
and 20 as people showed them; status words after the Intel SDM and the AMD64 APM.
"""

from __future__ import annotations

import hashlib
import json
import random
import re
import subprocess
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import pytest

from livecheck import installed_log, inventory, saved_log, windows_log
from livecheck.cli import main
from livecheck.console import case_files, evidence_lines
from livecheck.console.judged_case import JudgedCase
from livecheck.host import CommandResult
from livecheck.probes.kernel import history
from livecheck.records import Outcome, Reading
from tests import event_log, ntfs
from tests.event_log import AT_THE_CARD, MEMORY, PCIE, Entry, Hex, Value, error_record
from tests.test_installed_log import ImageHost
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

NOON: Final = 1772798400
"""2026-03-06T12:00:00Z."""
DAY: Final = 86400
LOG: Final = "Windows/System32/winevt/Logs/System.evtx"
POWER: Final = "Microsoft-Windows-Kernel-Power"
WHEA: Final = "Microsoft-Windows-WHEA-Logger"
REPORT: Final = "Microsoft-Windows-WER-SystemErrorReporting"
DRIVE: Final = "drive:OSV240A71X"
DISK: Final = ("\\Device\\Harddisk0\\DR0",)
BAD_BLOCK: Final = Entry(NOON, "disk", 7, DISK)


def _read(path: Path) -> saved_log.LogRead:
    return saved_log.read_files([path], inventory.take(BedHost(laptops.ahci())), 2026)


def _told(folder: Path, *entries: Entry) -> dict[str, Reading]:
    """Readings by check and component, of a log that holds the entries."""
    path = folder / "System.evtx"
    path.write_bytes(event_log.log(entries))
    log = _read(path)
    assert log.missed == () and log.messages == len(entries) and log.dated
    found = history.readings(log.events, log.dated)
    return {f"{r.check.removeprefix('history.')} {r.at}": r for r in found}


def _stop(code: int, second: int = 0, at: int = NOON, **more: Value) -> Entry:
    parameters = {f"BugcheckParameter{n}": Hex(second if n == 2 else 0) for n in range(1, 5)}
    fields: dict[str, Value] = {"BugcheckCode": code, **parameters, "SleepInProgress": 0,
                                "PowerButtonTimestamp": 0, "BootAppStatus": 0}  # fmt: skip
    return Entry(at, POWER, 41, {**fields, **more})


def _machine_check(status: int, number: int) -> Entry:
    fields: dict[str, Value] = {"ErrorSource": 3, "ApicId": 12, "MCABank": 5}
    fields |= {"MciStat": Hex(status), "Length": 4, "RawData": b"CPER"}
    return Entry(NOON, WHEA, number, fields)


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        (BAD_BLOCK, f"storage-medium {DRIVE}"),
        (Entry(NOON, "disk", 11, DISK), f"storage-protocol {DRIVE}"),
        (Entry(NOON, "disk", 51, DISK), f"storage-protocol {DRIVE}"),
        (Entry(NOON, "disk", 52, DISK), f"storage-medium {DRIVE}"),
        (Entry(NOON, "disk", 153, (*DISK, "0x12d687", "0")), f"storage-timeout {DRIVE}"),
        (Entry(NOON, "storahci", 129, ("\\Device\\RaidPort0",)), f"storage-timeout {DRIVE}"),
        (Entry(NOON, "iaStorAC", 129, ("\\Device\\RaidPort0",)), f"storage-timeout {DRIVE}"),
        (Entry(NOON, "Display", 4101, ("igfx",)), "graphics pci:0000:00:02.0"),
        (Entry(NOON, POWER, 86, {"Length": 3}), "thermal machine"),
        (_machine_check(0xBEA0000000000108, 18), "processor-check machine"),
        (_machine_check(0xFA00000000070F0F, 20), "machine-check machine"),
        (Entry(NOON, WHEA, 47, {"RawData": error_record(2, MEMORY, bytes(80))}),
         "machine-check machine"),
        (_stop(0x124), "machine-check machine"),
        (_stop(0x9C), "machine-check machine"),
        (_stop(0x7A, 0xFFFFFFFFC000009C), f"storage-medium {DRIVE}"),
        (_stop(0x7A, 0xC000009D), f"storage-host-bus {DRIVE}"),
        (_stop(0x77, 0xC0000185), f"storage-host-bus {DRIVE}"),
        (_stop(0x116), "graphics pci:0000:00:02.0"),
        (_stop(0x1A), "crash machine"),
        (_stop(0x50), "crash machine"),
    ],
)  # fmt: skip
def test_what_an_event_means_and_where(tmp_path: Path, entry: Entry, told: str) -> None:
    """As the kernel's own messages would be read."""
    found = _told(tmp_path, entry)
    assert {n for n, r in found.items() if r.outcome is Outcome.FAILED} == {told}
    assert "on 2026-03-06" in found[told].says
    assert found[told].details[0].startswith("2026-03-06 12:00:00 ")


@pytest.mark.parametrize(
    "entry",
    [
        _stop(0x139),
        _stop(0xD1),
        _stop(0, PowerButtonTimestamp=132230284324488932),
        _stop(0, LongPowerButtonPressDetected=True),
        Entry(NOON, "Ntfs", 55, {"DriveName": "C:"}),
        Entry(NOON, "Microsoft-Windows-Ntfs", 98, {"CorruptionState": 1}),
        Entry(NOON, "volmgr", 161, ()),
        Entry(NOON, "Microsoft-Windows-Kernel-Processor-Power", 37, {"CapDurationInSeconds": 71}),
        Entry(NOON, WHEA, 17, {"RawData": error_record(2, PCIE, AT_THE_CARD)}),
        _machine_check(0x9020004000020150, 19),
        Entry(NOON, "disk", 7, ("\\Device\\Harddisk1\\DR1",)),
        Entry(NOON, "stornvme", 129, ("\\Device\\RaidPort0",)),
        _stop(0),
    ],
)
def test_what_is_told_and_accuses_nobody(tmp_path: Path, entry: Entry) -> None:
    """Drivers' own faults, the user's key, file systems, drives on other ports, a single loss."""
    found = _told(tmp_path, entry)
    assert {r.outcome for r in found.values()} == {Outcome.NOT_JUDGED}
    assert any("2026-03-06" in line for r in found.values() for line in r.details)


def test_one_end_told_thrice_is_one(tmp_path: Path) -> None:
    """The next start tells of it as 41, as 6008 and, with a stop code, as 1001."""
    words = ("0x00000124 (0x0, 0xffff9b0, 0x0, 0x0)", "C:\\Windows\\MEMORY.DMP", "id")
    report: dict[str, Value] = {f"param{n}": word for n, word in enumerate(words, 1)}
    found = _told(
        tmp_path,
        _stop(0x124),
        Entry(NOON + 2, "EventLog", 6008, ("12:00:00", "3/6/2026")),
        Entry(NOON + 40, REPORT, 1001, report),
    )
    assert found["machine-check machine"].value == 1
    assert "restart machine" not in found


def test_a_machine_that_goes_off_again_and_again(tmp_path: Path) -> None:
    """A battery may run empty once; thrice, with no code and no key pressed, is a sign."""
    found = _told(tmp_path, *(_stop(0, at=NOON + day * DAY) for day in range(3)))
    assert found["restart machine"].outcome is Outcome.FAILED
    assert "3 times on 3 days from 2026-03-06 to 2026-03-08" in found["restart machine"].says
    own = found["days machine"].details
    assert [line[:10] for line in own] == ["2026-03-06", "2026-03-07", "2026-03-08"]


def test_the_way_of_a_wireless_cards_lost_data(tmp_path: Path) -> None:
    """A fatal record names the device by its address, as Linux writes it."""
    raw = error_record(1, PCIE, AT_THE_CARD)
    found = _told(tmp_path, Entry(NOON, WHEA, 18, {"RawData": raw}))
    assert found["pcie wireless-card:02:5e:a1:00:42:17"].outcome is Outcome.FAILED


def test_as_many_events_as_an_outside_reader_sees(tmp_path: Path) -> None:
    """libevtx' export of the same file: the same events at the same times."""
    noise = [Entry(NOON + n, "Service Control Manager", 7036, ("a program", "running"))
             for n in range(900)]  # fmt: skip
    entries = sorted([*noise, *(BAD_BLOCK._replace(seconds=NOON + n * 7) for n in range(90))],
                     key=lambda one: one.seconds)  # fmt: skip
    path = tmp_path / "System.evtx"
    path.write_bytes(event_log.log(entries))
    assert path.stat().st_size > 3 * event_log.CHUNK
    said = subprocess.run(["evtxexport", "-f", "xml", path], capture_output=True, text=True,
                          check=True).stdout  # fmt: skip
    events = said.split("<Event>")[1:]
    disks = [e for e in events if 'Provider Name="disk"' in e]
    times = [m[1] for e in disks if (m := re.search(r'SystemTime="([\d:T-]+)', e))]
    log = _read(path)
    assert log.messages == len(events) == 990
    own = [time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(e.seconds)) for e in log.events]
    assert own == times


def test_nothing_of_names_and_programs_is_kept(tmp_path: Path) -> None:
    """Of a text in an event only the number that the table names; of most events nothing."""
    secret = "erika.mustermann"
    entries = [
        Entry(NOON, "disk", 7, ("\\Device\\Harddisk0\\DR0", secret)),
        Entry(NOON, "Ntfs", 55, {"DriveName": secret, "DeviceName": secret}),
        Entry(NOON, POWER, 41, {"BugcheckCode": secret, "PowerButtonTimestamp": secret}),
        Entry(NOON, REPORT, 1001, {"param1": secret, "param2": f"C:\\Users\\{secret}"}),
        Entry(NOON, "Microsoft-Windows-Winlogon", 7001, {"UserSid": secret}),
        Entry(NOON, WHEA, 17, {"FRUText": secret, "RawData": secret.encode()}),
        Entry(NOON, secret, 7, DISK),
    ]
    path = tmp_path / "System.evtx"
    path.write_bytes(event_log.log(entries))
    log = _read(path)
    assert log.events and secret not in repr(log) and "BENCH" not in repr(log)


# --- The file system


def _copied(image: Path, folder: Path) -> installed_log.Copied:
    """What is had of a file system, which stays as it was."""
    before = hashlib.sha256(image.read_bytes()).digest()
    folder.mkdir()
    host = ImageHost({"sda3": image})
    (volume,) = installed_log.volumes(host)
    found = installed_log.copied(host, volume, folder)
    assert hashlib.sha256(image.read_bytes()).digest() == before
    return found


@pytest.fixture(scope="module")
def windows(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file system with 900 bad blocks in its log."""
    content = event_log.log([BAD_BLOCK._replace(seconds=NOON + n * 60) for n in range(900)])
    return ntfs.image(tmp_path_factory.mktemp("ntfs") / "sda3", {LOG: content})


@pytest.mark.parametrize("state", ["clean", "hibernated", "to be checked"])
def test_the_log_comes_out_of_any_state_windows_leaves(
    windows: Path, tmp_path: Path, state: str
) -> None:
    """A fast start leaves hiberfil.sys; a crash the flag of a check to be made: both are usual."""
    image = tmp_path / "sda3"
    image.write_bytes(windows.read_bytes())
    if state == "hibernated":
        (tmp_path / "hibernated").write_bytes(b"HIBR".ljust(8192, b"\0"))
        words = [ntfs.NTFSCP, "-q", str(image), str(tmp_path / "hibernated"), "hiberfil.sys"]
        subprocess.run(words, check=True, capture_output=True)
    elif state == "to be checked":
        subprocess.run(["ntfsfix", image], check=True, capture_output=True)
    found = _copied(image, tmp_path / "copies")
    assert found.missed == ()
    assert len(_read(found.files[0]).events) == 900


def test_the_volume_is_opened_for_reading_alone(windows: Path, tmp_path: Path) -> None:
    """By the system's calls, whatever the tool promises."""
    trace = tmp_path / "trace"

    class Traced(ImageHost):
        def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
            words = ["strace", "-f", "-o", str(trace), "-e", "trace=open,openat"]
            return super().command([*words, *argv], deadline)

    host = Traced({"sda3": windows})
    volume = installed_log.Volume(str(windows), "NTFS")
    assert installed_log.copied(host, volume, tmp_path).files
    opened = [o for o in trace.read_text("utf-8").splitlines() if f'"{windows}"' in o]
    assert opened and all("O_RDONLY" in one for one in opened)


@pytest.mark.parametrize("damage", ["cut", "noise", "empty", "no Windows"])
def test_a_damaged_volume_costs_its_log_and_says_what_to_try(
    windows: Path, tmp_path: Path, damage: str
) -> None:
    image = tmp_path / "sda3"
    raw = bytearray(windows.read_bytes())
    if damage == "cut":
        raw = raw[:65536]
    elif damage == "noise":
        raw[4096 : 1 << 20] = random.Random(7).randbytes((1 << 20) - 4096)
    elif damage == "empty":
        raw[512:] = bytes(len(raw) - 512)
    image.write_bytes(raw)
    if damage == "no Windows":
        ntfs.image(image, {"letter.txt": b"x"})
    found = _copied(image, tmp_path / "copies")
    assert found.files == ()
    assert len(found.missed) == 1 and "livecheck read-log" in found.missed[0]


@pytest.mark.slow
def test_any_byte_of_a_volume(windows: Path, tmp_path: Path) -> None:
    """Of the boot sector, folders and tables, by dice: what is not had is told, nothing written."""
    sound, dice = windows.read_bytes(), random.Random(3)
    used = [at for at in range(0, len(sound), 512) if any(sound[at : at + 512])]
    for number in range(30):
        bad = bytearray(sound)
        at = number * 3 if number < 10 else dice.choice(used) + dice.randrange(512)
        bad[at] ^= dice.choice((1, 0x80, 0xFF))
        (tmp_path / "sda3").write_bytes(bad)
        volume = installed_log.Volume(str(tmp_path / "sda3"), "NTFS")
        (tmp_path / f"{number}").mkdir()
        found = installed_log.copied(ImageHost({}), volume, tmp_path / f"{number}")
        assert (tmp_path / "sda3").read_bytes() == bad
        assert found.missed or len((log := _read(found.files[0])).events) == 900 or log.missed, at


def test_a_locked_volume_says_so_and_no_key_is_asked(tmp_path: Path) -> None:
    """[MS-FVE]: the boot sector's name of a BitLocker volume."""
    image = tmp_path / "sda3"
    image.write_bytes(b"\xeb\x58\x90-FVE-FS-" + bytes(1 << 16))
    (why,) = _copied(image, tmp_path / "copies").missed
    assert "BitLocker" in why and "locked" in why


def test_more_than_the_limit_is_cut_and_said(
    windows: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No file on the disk fills the memory that the copies lie in."""
    monkeypatch.setattr(installed_log, "MOST_LOG_BYTES", 100_000)
    found = _copied(windows, tmp_path / "copies")
    assert found.files[0].stat().st_size <= 100_000
    assert any("first" in one for one in found.missed)
    assert 0 < len(_read(found.files[0]).events) < 900


# --- Logs that are not what they should be


def _log(folder: Path, content: bytes) -> saved_log.LogRead:
    path = folder / "System.evtx"
    path.write_bytes(content)
    return _read(path)


def test_any_byte_of_a_log(tmp_path: Path) -> None:
    """By dice; whatever is left of it is read, and nothing else happens."""
    sound = event_log.log([BAD_BLOCK._replace(seconds=NOON + n) for n in range(30)])
    dice = random.Random(11)
    for number in range(12):
        bad = bytearray(sound)
        for _ in range(1 + number * 3):
            bad[dice.randrange(4096 if number % 3 == 0 else 20_000)] = dice.randrange(256)
        log = _log(tmp_path, bytes(bad))
        assert len(log.events) <= 30
        assert len(log.events) == 30 or log.missed, number


def test_a_log_cut_off_and_one_that_was_never_closed(tmp_path: Path) -> None:
    """From a machine that lost its power: fewer chunks than the head says, or more."""
    entries = [BAD_BLOCK._replace(seconds=NOON + n * 60) for n in range(900)]
    whole = event_log.log(entries)
    cut = _log(tmp_path, whole[: 4096 + event_log.CHUNK + 5000])
    assert 0 < len(cut.events) < 900 and cut.missed
    dirty = _log(tmp_path, event_log.header(1, 2) + whole[4096:])
    assert len(dirty.events) == 900


def test_words_that_changed_where_they_still_can_be_read_are_told(tmp_path: Path) -> None:
    """A letter of a field's name: the event is well formed and means nothing any more."""
    name, other = ("BugcheckCode".encode("utf-16-le"), "BugcheckMode".encode("utf-16-le"))
    whole = event_log.log([_stop(0x124)])
    assert _log(tmp_path, whole).missed == ()
    assert any("damaged" in why for why in _log(tmp_path, whole.replace(name, other)).missed)


def test_a_log_that_takes_too_long_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was read until then counts; that it is not all is said."""
    monkeypatch.setattr(windows_log, "SECONDS", 0.0)
    log = _log(tmp_path, event_log.log([BAD_BLOCK]))
    assert any("seconds" in why for why in log.missed)


def test_how_far_it_is_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Progress every so many events, as for other logs."""
    monkeypatch.setattr(windows_log, "EVERY", 100)
    path = tmp_path / "System.evtx"
    path.write_bytes(event_log.log([BAD_BLOCK._replace(seconds=NOON + n * 60) for n in range(250)]))
    told: list[int] = []
    saved_log.read_files([path], inventory.take(BedHost(laptops.ahci())), 2026, told.append)
    assert told == [100, 200]


def test_from_the_drive_into_the_run(
    windows: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """With the customer's consent in it, and what happened on which day."""
    monkeypatch.setattr("livecheck.live_host.LiveHost", lambda: ImageHost({"sda3": windows}))
    (tmp_path / "shop").mkdir()
    words = ["read-log", "--installed", "--agreed", "--shop", str(tmp_path / "shop"), "--json"]
    assert main(words) == 0
    told = json.loads(capsys.readouterr().out)
    run = json.loads(Path(told["run_file"]).read_text())
    assert run["inside"] is True and any(a.get("about") == "consent" for a in run["answers"])
    case = case_files.open_case(Path(told["case_folder"]))
    assert isinstance(case, JudgedCase)
    (days,) = [one.reading for one in evidence_lines.behind(case, "verdict")
               if one.reading is not None and one.reading.check == "history.days"]  # fmt: skip
    assert days.details == ("2026-03-06: 720 × the drive has a bad block",
                            "2026-03-07: 180 × the drive has a bad block")  # fmt: skip
    page = (Path(told["case_folder"]) / "report.html").read_text("utf-8")
    assert "2026-03-07: 180 × the drive has a bad block" in page
