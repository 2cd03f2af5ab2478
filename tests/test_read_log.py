"""Saved logs of the installed system: every format gives the same events, dates and parts.

Formats: dmesg(1), journalctl(1) and systemd's JOURNAL_EXPORT_FORMATS.
"""

from __future__ import annotations

import gzip
import io
import json
import lzma
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from livecheck import inventory, knowledge, log_stream, saved_log
from livecheck.cli import main
from livecheck.diagnosis import locate
from livecheck.kernel_log import saved
from livecheck.probes.kernel import history
from livecheck.records import Outcome, Reading, Run, Side
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost

UNC = "ata1.00: error: { UNC }"
NOON = 1772798400
"""2026-03-06T12:00:00Z."""

FORMATS = {
    "dmesg": f"[    5.000000] {UNC}",
    "dmesg with levels": f"kern  :err   : [    5.000000] {UNC}",
    "dmesg raw": f"<3>[    5.000000] {UNC}",
    "dmesg with the caller": f"[    5.000000] [  T123] {UNC}",
    "dmesg human": f"[Fri Mar  6 12:00:00 2026] {UNC}",
    "dmesg iso": f"2026-03-06T13:00:00,000000+01:00 {UNC}",
    "journalctl": f"Mar 06 12:00:00 bench kernel: {UNC}",
    "journalctl iso": f"2026-03-06T13:00:00+0100 bench kernel: {UNC}",
    "journalctl iso precise": f"2026-03-06T12:00:00.000123+00:00 bench kernel: {UNC}",
    "journalctl full": f"Fri 2026-03-06 12:00:00 UTC bench kernel: {UNC}",
    "journalctl monotonic": f"[    5.000000] bench kernel: {UNC}",
    "syslog": f"Mar  6 12:00:00 bench kernel: [    5.000000] {UNC}",
    "pasted": UNC,
    "json": json.dumps(
        {"__REALTIME_TIMESTAMP": f"{NOON}000000", "_TRANSPORT": "kernel", "MESSAGE": UNC}
    ),
    "json in bytes": json.dumps(
        {"__REALTIME_TIMESTAMP": f"{NOON}000000", "_TRANSPORT": "kernel",
         "MESSAGE": list(UNC.encode())}
    ),
    "export": f"__CURSOR=s=1\n__REALTIME_TIMESTAMP={NOON}000000\n_TRANSPORT=kernel\n"
    f"MESSAGE={UNC}\n\n",
}  # fmt: skip


def _read(text: str | bytes) -> list[saved.Stamped]:
    raw = text if isinstance(text, bytes) else text.encode()
    return list(saved.read(io.BytesIO(raw), 2026))


@pytest.mark.parametrize("form", FORMATS)
def test_every_format_gives_the_kernels_words_and_the_logs_own_time(form: str) -> None:
    """The message alone, at noon or five seconds after the start."""
    (found,) = _read(FORMATS[form])
    assert found.message.text == UNC
    assert found.seconds == (NOON if found.dated else 0 if form == "pasted" else 5.0)


def test_a_field_of_bytes_in_an_export_is_read() -> None:
    """A MESSAGE with a line break stands with its length before it."""
    body = b"ata1.00: cmd\n  res"
    raw = b"__CURSOR=1\n__REALTIME_TIMESTAMP=1\n_TRANSPORT=kernel\nMESSAGE\n"
    raw += len(body).to_bytes(8, "little") + body + b"\nPRIORITY=3\n\n"
    (found,) = _read(raw)
    assert (found.message.text, found.message.priority) == (body.decode(), 3)


@pytest.mark.parametrize(
    "line",
    [
        f"Mar 06 12:00:00 bench smartd[77]: {UNC}",
        f"2026-03-06T12:00:00+0000 bench sudo: {UNC}",
        json.dumps({"__REALTIME_TIMESTAMP": "1", "_TRANSPORT": "syslog", "MESSAGE": UNC}),
        f"__CURSOR=1\n__REALTIME_TIMESTAMP=1\n_TRANSPORT=stdout\nMESSAGE={UNC}\n\n",
    ],
)
def test_lines_of_other_programs_are_passed_over(line: str) -> None:
    """Whatever they quote."""
    assert _read(line) == []


@pytest.mark.parametrize(
    "damage",
    [b"", b"\x00" * 4096, b"{" * 100_000, b"__CURSOR=1\nMESSAGE\n\xff\xff\xff\xff\xff\xff\xff\x7f",
     b"__CURSOR=1\n__REALTIME_TIMESTAMP=" + b"9" * 400, b"[99999999999999999999.9] x",
     b"[Xxx Yyy 99 99:99:99 9999] x", b'{"MESSAGE": [1, 999999]}',
     b"9999-12-31T23:59:59-1200 bench kernel: x", b"0001-01-01T00:00:00+1200 bench kernel: x"],
)  # fmt: skip
def test_a_damaged_file_costs_what_is_damaged(damage: bytes) -> None:
    """No exception, no endless read, no date that no calendar has."""
    for one in _read(damage):
        datetime.fromtimestamp(one.seconds, UTC)


def test_times_since_the_start_begin_anew_at_each_start() -> None:
    """Two starts in one file are not one: the second comes after the first."""
    text = f"[ 0.0] Linux version 6.1\n[ 900.0] {UNC}\n[ 0.0] Linux version 6.1\n[ 5.0] {UNC}\n"
    seconds = [one.seconds for one in _read(text)]
    assert seconds == sorted(seconds)
    assert seconds[3] > seconds[1] + 5


# --- To the parts of the machine

TWO_DISKS = (
    "[    1.0] Linux version 6.1.0",
    "[    1.1] scsi 0:0:0:0: Direct-Access     Generic  Flash Disk       8.07 PQ: 0 ANSI: 4",
    "[    1.2] sd 0:0:0:0: [sda] 1000 512-byte logical blocks",
    "[    1.3] scsi 2:0:0:0: Direct-Access     ATA      OSTREVAR S3 240G V2.1 PQ: 0 ANSI: 5",
    "[    1.4] sd 2:0:0:0: [sdb] 468862128 512-byte logical blocks",
)


def _events(tmp_path: Path, *lines: str) -> dict[str, str | None]:
    path = tmp_path / "kern.log"
    path.write_text("\n".join(lines) + "\n")
    found = inventory.take(BedHost(laptops.ahci()))
    log = saved_log.read_files([path], found, 2026)
    return {event.raw: event.component for event in log.events}


def test_a_disk_is_known_by_the_model_the_log_tells(tmp_path: Path) -> None:
    """In that system the stick was sda, and the machine's own disk sdb."""
    ours = "critical medium error, dev sdb, sector 1 op 0x0:(READ) flags 0x0 phys_seg 1"
    theirs = "critical medium error, dev sda, sector 1 op 0x0:(READ) flags 0x0 phys_seg 1"
    found = _events(tmp_path, *TWO_DISKS, f"[ 9.0] {ours}", f"[ 9.1] {theirs}")
    assert found[ours] == "drive:OSV240A71X"


def test_a_port_keeps_its_number(tmp_path: Path) -> None:
    """ataN is the N-th port of the controller in every system."""
    assert _events(tmp_path, f"[ 9.0] {UNC}")[UNC] == "drive:OSV240A71X"


# --- As readings


def _readings(tmp_path: Path, *lines: str) -> dict[str, Reading]:
    path = tmp_path / "kern.log.gz"
    path.write_bytes(gzip.compress(("\n".join(lines) + "\n").encode()))
    found = inventory.take(BedHost(laptops.ahci()))
    log = saved_log.read_files([path], found, 2026)
    return {r.check: r for r in history.readings(log.events, log.dated)}


def test_days_and_dates_stand_in_the_reading(tmp_path: Path) -> None:
    """What happened when, since when, how often."""
    lines = [f"[Fri Mar {day:2d} 12:00:00 2026] {UNC}" for day in (6, 13, 13, 20)]
    reading = _readings(tmp_path, *lines)["history.storage-medium"]
    assert reading.outcome is Outcome.FAILED
    assert reading.value == 3
    assert "3 times on 3 days from 2026-03-06 to 2026-03-20" in reading.says
    assert reading.details[0] == f"2026-03-06 12:00:00 {UNC}"


def test_a_silent_log_passes_nothing(tmp_path: Path) -> None:
    """Nobody knows what that system did, nor whether the log is whole."""
    assert _readings(tmp_path, "[ 1.0] Linux version 6.1", "[ 2.0] usb 1-1: new device") == {}


def test_every_history_check_has_the_installed_system_among_its_causes() -> None:
    """Derived from the stick's own checks, software added, more false alarms allowed.

    Not where the drive itself says that it cannot read (ACS-4, error field, UNC).
    """
    checks = knowledge.load().checks
    names = {name for name in checks if name.startswith("kernel.")}
    assert len(names) > 20
    for name in names:
        inside = checks[name.replace("kernel.", "history.")]
        expected = [] if inside.symptom_group == "medium" else ["software"]
        assert [row.who for row in inside.blames if row.who == "software"] == expected
        assert inside.false_alarm > checks[name].false_alarm
        assert not inside.direct


def test_what_was_seen_inside_accuses_less_than_the_same_seen_on_the_stick() -> None:
    """The same time-outs: on the stick the drive and the way to it, inside a setting too."""
    found = inventory.take(BedHost(laptops.ahci()))
    sides = {}
    for check in ("kernel.storage-timeout", "history.storage-timeout"):
        reading = Reading(check=check, at="drive:OSV240A71X", outcome=Outcome.FAILED)
        run = Run(number=1, started="2026-03-06T12:00:00Z", inventory=found, readings=(reading,))
        sides[check] = locate("c", [run], knowledge.load()).sides
    inside, outside = sides["history.storage-timeout"], sides["kernel.storage-timeout"]
    assert inside[Side.SOFTWARE.value] > 2 * outside[Side.SOFTWARE.value]


# --- The command


def test_the_command_makes_a_run_seen_inside(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With the log's kernel, its own times, and no probe's readings."""
    log = tmp_path / "dmesg.txt"
    log.write_text(f"[ 0.0] Linux version 6.1.0-9-amd64\n[ 9.0] {UNC}\n")
    assert main(["read-log", str(log), "--shop", str(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    run = json.loads(Path(told["run_file"]).read_text())
    assert run["inside"] is True
    assert run["kernel"] == "Linux version 6.1.0-9-amd64"


@pytest.mark.parametrize("words", [["nothing.log"], ["empty.log"], ["."]])
def test_what_cannot_be_read_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    """A file that is not there, holds no message, or is a folder."""
    (tmp_path / "empty.log").write_text("")
    assert main(["read-log", *(str(tmp_path / w) for w in words), "--shop", str(tmp_path)]) == 3
    assert "read-log" in (said := capsys.readouterr().err) or "journalctl" in said


def _logged(path: Path) -> saved_log.LogRead:
    found = inventory.take(BedHost(laptops.ahci()))
    return saved_log.read_files([path], found, 2026)


@pytest.mark.parametrize("pack", [gzip.compress, lzma.compress])
def test_of_a_packed_log_that_was_cut_off_the_begin_counts(
    tmp_path: Path, pack: Callable[[bytes], bytes]
) -> None:
    """And its end is told to be missing; further members and streams are read (RFC 1952, 2.2)."""
    path = tmp_path / "kern.log.packed"
    path.write_bytes(pack(f"{UNC}\n".encode()) + pack(f"{UNC}\n".encode() * 9000)[:-12])
    log = _logged(path)
    assert len(log.events) > 1
    assert log.missed
    missed = [n for n in saved_log.run_of(log, Run(number=0, started="x")).not_tested if n.why]
    assert any("not a whole file" in one.why for one in missed)


@pytest.mark.parametrize("line", [b"\n", b"a\n", bytes(1 << 17)])
def test_a_small_file_that_unpacks_without_end_is_left_in_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, line: bytes
) -> None:
    """gzip packs zeros to a thousandth; read whole, this would take a minute or much longer."""
    path = tmp_path / "kern.log.gz"
    path.write_bytes(gzip.compress(line * ((1 << 27) // len(line)), 1))
    monkeypatch.setattr(saved_log, "Patience", lambda: log_stream.Patience(0.2))
    begun = time.process_time()
    log = _logged(path)
    assert time.process_time() - begun < 5
    assert log.missed


def test_a_log_that_wants_a_gigabyte_for_unpacking_is_not_unpacked(tmp_path: Path) -> None:
    """The size of its dictionary stands in an xz block's header (The .xz File Format, 5.3.1)."""
    path = tmp_path / "kern.log.xz"
    hungry = [{"id": lzma.FILTER_LZMA2, "preset": 0, "dict_size": 1 << 30}]
    path.write_bytes(lzma.compress(f"{UNC}\n".encode(), filters=hungry))
    assert _logged(path).missed
