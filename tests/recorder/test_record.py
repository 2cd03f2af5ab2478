"""The record on the drive: whole to the last second, bounded, readable however it ends.

Outside sources: POSIX fdatasync(2) as the promise that is built on; the file's own bytes.
"""

from __future__ import annotations

import errno
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import msgspec
import pytest

from livecheck import recorder
from livecheck.meters import Sample
from livecheck.recorder import file as files
from livecheck.recorder import lines, openings
from livecheck.recorder.file import RecordFile
from livecheck.recorder.lines import Header
from tests.recorder.machines import BOOT, CHANNELS, MACHINE, NEXT, laptop, record


def _header() -> Header:
    return record(1).header


def _sample(second: int) -> Sample:
    return Sample(seconds=float(second), values=(52.0, 1.0, 80.0, 12.1, 2.0, 97.0), step="memory")


def _written(folder: Path, count: int) -> bytes:
    file = RecordFile(folder, lines.encode(_header()))
    for second in range(count):
        file.append(lines.encode(_sample(second)))
    return (folder / lines.FILE).read_bytes()


def test_lines_come_back(tmp_path: Path) -> None:
    """What was appended is read again, with the room that was set aside."""
    data = _written(tmp_path, 5)
    assert data.endswith(b"\n\n\n")  # never closed: room is left
    found = lines.parse(data)
    assert found is not None and found.closing is None and not found.damaged
    assert found.header == _header() and [s.seconds for s in found.samples] == [0, 1, 2, 3, 4]
    assert found.samples[0] == _sample(0)


def test_cut_anywhere(tmp_path: Path) -> None:
    """Cut after any byte, every line before the cut is there and the torn one is left out."""
    data = _written(tmp_path, 8).rstrip(b"\n") + b"\n"
    ends = [k + 1 for k, byte in enumerate(data) if byte == 10]
    for cut in range(ends[0], len(data)):
        found = lines.parse(data[:cut] + b"\n" * 512 + b"\x00" * 300)
        assert found is not None
        whole = sum(end <= cut + 1 for end in ends) - 1
        assert len(found.samples) == whole, cut
        assert found.damaged <= 1


def test_a_pulled_drive_costs_no_second(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its flush fails (EIO), then its folder is gone, as a pulled drive's mount that was let go;
    back again at another mount, the record goes on in its own file, whole."""
    here, elsewhere = tmp_path / "drive", tmp_path / "pocket"
    here.mkdir()
    file = RecordFile(here, lines.encode(_header()))
    file.append(lines.encode(_sample(0)))

    def refused(descriptor: int) -> None:
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as pulled:
        pulled.setattr(os, "fdatasync", refused)
        file.append(lines.encode(_sample(1)))
        # What had not reached the drive when it was pulled is not on it.
        data = (here / lines.FILE).read_bytes()
        (here / lines.FILE).write_bytes(data[: data.index(lines.encode(_sample(1)))])
        here.rename(elsewhere)
        file.append(lines.encode(_sample(2)))
        with pytest.raises(OSError, match="gone"):
            file.close()
        shutil.copytree(elsewhere, here)
    file.append(lines.encode(_sample(3)))
    file.close()
    found = openings.read(here)
    assert found is not None and not found.damaged
    assert [s.seconds for s in found.samples] == [0, 1, 2, 3]
    left = openings.read(elsewhere)
    assert left is not None and [s.seconds for s in left.samples] == [0]


@pytest.mark.parametrize("number", [errno.EIO, errno.ENOSPC])
def test_another_drive_gets_no_record_of_this_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """What lies there under the same name is another start's. A full drive is not away: it ends
    the record at once."""
    file = RecordFile(tmp_path, lines.encode(_header()))

    def refused(descriptor: int) -> None:
        raise OSError(number, os.strerror(number))

    with monkeypatch.context() as pulled:
        pulled.setattr(os, "fdatasync", refused)
        if number == errno.ENOSPC:
            with pytest.raises(OSError, match="No space"):
                file.append(lines.encode(_sample(0)))
            return
        file.append(lines.encode(_sample(0)))
    other = lines.encode(msgspec.structs.replace(_header(), boot="another start"))
    (tmp_path / lines.FILE).write_bytes(other)
    file.append(lines.encode(_sample(1)))
    assert (tmp_path / lines.FILE).read_bytes() == other
    with pytest.raises(OSError, match="gone"):
        file.close()


def test_no_header_no_record() -> None:
    assert lines.parse(b"") is None
    assert lines.parse(lines.encode(_sample(1))) is None
    assert lines.parse(b"\x00" * 4096, random.Random(1).randbytes(2000)) is None


def test_a_day_stays_bounded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """24 simulated hours, one line a second: two segments at most, the newest hours whole."""
    # The promise of durability is not what is looked at here; 86 400 flushes would be slow.
    monkeypatch.setattr(os, "fdatasync", lambda descriptor: None)
    file = RecordFile(tmp_path, lines.encode(_header()))
    largest = 0
    for second in range(24 * 3600):
        file.append(lines.encode(_sample(second)))
        if second % 600 == 0:
            largest = max(largest, sum(p.stat().st_size for p in tmp_path.iterdir()))
    assert {p.name for p in tmp_path.iterdir()} == {lines.FILE, lines.OLDER}
    assert largest <= 2 * files.SEGMENT_BYTES + files.ROOM_BYTES + 1024
    found = openings.read(tmp_path)
    assert found is not None and not found.damaged
    seconds = [round(s.seconds) for s in found.samples]
    assert seconds == list(range(seconds[0], 24 * 3600)) and len(seconds) > 3 * 3600


def test_cut_between_two_segments(tmp_path: Path) -> None:
    """The new segment not begun yet: the older one speaks."""
    _written(tmp_path, 4)
    (tmp_path / lines.FILE).rename(tmp_path / lines.OLDER)
    found = openings.read(tmp_path)
    assert found is not None and len(found.samples) == 4


def test_ends_in_order(tmp_path: Path) -> None:
    """Recorded, moved into the run's folder, closed; the note is gone; the room given back."""
    run = tmp_path / "case" / "runs" / "0001"
    run.mkdir(parents=True)
    recording = recorder.start(laptop(), tmp_path, every=0.05)
    time.sleep(0.3)
    recording.step("memory")
    recording.move(run)
    time.sleep(0.3)
    summary = recording.stop()
    assert summary.trouble is None and summary.samples >= 6
    found = openings.read(run)
    assert found is not None and found.closing is not None and found.closing.how == "done"
    assert len(found.samples) == summary.samples
    assert found.samples[0].step == "" and found.samples[-1].step == "memory"
    assert not (run / lines.FILE).read_bytes().endswith(b"\n\n")
    assert summary.bytes_written == (run / lines.FILE).stat().st_size
    assert not list((tmp_path / openings.FOLDER).iterdir())
    assert {c.sort.value for c in found.header.channels} >= {
        "temperature", "fan", "power", "frequency", "throttle", "adapter", "battery-volts",
        "battery-amperes", "battery-charge", "errors", "load",
    }  # fmt: skip


def test_a_drive_pulled_as_the_run_gets_its_folder_costs_no_record(tmp_path: Path) -> None:
    """The order to move meets no drive: it is followed once the drive is back."""
    drive, elsewhere = tmp_path / "drive", tmp_path / "pulled"
    run = drive / "cases" / "T" / "runs" / "0001"
    run.mkdir(parents=True)
    recording = recorder.start(laptop(), drive / "cases", every=0.05)
    _wait_for_samples(drive / "cases", 2)
    drive.rename(elsewhere)
    recording.move(run)
    time.sleep(0.3)
    elsewhere.rename(drive)
    time.sleep(0.3)
    summary = recording.stop()
    assert summary.trouble is None
    found = openings.read(run)
    assert found is not None and found.closing is not None and found.closing.how == "done"
    assert len(found.samples) == summary.samples
    assert not list((drive / "cases" / openings.FOLDER).iterdir())


def _recording(folder: Path) -> subprocess.Popen[bytes]:
    """A run's process with a recorder, in a process of its own that can be killed."""
    code = (
        "import sys, time; from pathlib import Path; from livecheck import recorder;"
        "from tests.recorder.machines import laptop;"
        "r = recorder.start(laptop(), Path(sys.argv[1]), every=0.05);"
        "print(r.pid, flush=True); time.sleep(60)"
    )
    return subprocess.Popen([sys.executable, "-c", code, str(folder)], stdout=subprocess.PIPE)


def test_where_the_drive_is_gone_nothing_is_made_in_its_stead(tmp_path: Path) -> None:
    """Pulled before the recorder begins: a folder at its mount point would pass for the drive."""
    cases = tmp_path / "stick" / "livecheck-cases"
    with _recording(cases) as process:
        assert process.stdout is not None
        recorder = int(process.stdout.readline())
        until = time.monotonic() + 20
        while Path(f"/proc/{recorder}/environ").exists() and time.monotonic() < until:
            state = Path(f"/proc/{recorder}/stat").read_text().rpartition(")")[2].split()[0]
            if state == "Z" or cases.parent.exists():
                break
            time.sleep(0.02)
        process.kill()
    assert not cases.parent.exists()


def _wait_for_samples(folder: Path, count: int) -> None:
    until = time.monotonic() + 20
    while time.monotonic() < until:
        for spool in (folder / openings.FOLDER).glob("*/"):
            found = openings.read(spool)
            if found is not None and len(found.samples) >= count:
                return
        time.sleep(0.02)
    pytest.fail("the recorder wrote nothing")


@pytest.mark.parametrize(
    ("victim", "number", "how"),
    [
        ("recorder", signal.SIGKILL, None),
        ("recorder", signal.SIGTERM, "asked"),
        ("run", signal.SIGKILL, "alone"),
    ],
)
def test_ends_out_of_order(
    tmp_path: Path, victim: str, number: signal.Signals, how: str | None
) -> None:
    """Cut off: no closing line. The system's request, and a run that is gone: one that says so."""
    with _recording(tmp_path) as process:
        assert process.stdout is not None
        pid = int(process.stdout.readline())
        _wait_for_samples(tmp_path, 3)
        os.kill(pid if victim == "recorder" else process.pid, number)
        time.sleep(0.5)
        process.kill()
    found = openings.find(tmp_path, MACHINE, NEXT)
    if how == "alone":
        assert not found  # the program ended, not the machine
        return
    assert len(found) == 1
    closing = found[0].recorded.closing
    assert (closing.how if closing else None) == how


def test_note_of_another_machine_is_left(tmp_path: Path) -> None:
    """Found by the same board only, on a later start only; left where it is otherwise."""
    spool = tmp_path / openings.FOLDER / "a"
    spool.mkdir(parents=True)
    _written(spool, 3)
    note = openings.note(tmp_path, "a")
    opening = openings.Opening(boot=BOOT, machine=MACHINE, folders=(f"{openings.FOLDER}/a",))
    openings.write(note, opening)
    other = msgspec.structs.replace(MACHINE, uuid="0f8f8a0e-1111-4222-8333-0123456789ab")
    assert not openings.find(tmp_path, other, NEXT)
    assert not openings.find(tmp_path, MACHINE, BOOT)
    found = openings.find(tmp_path, MACHINE, NEXT)
    assert len(found) == 1 and len(found[0].recorded.samples) == 3
    openings.close(found[0].note)
    assert not openings.find(tmp_path, MACHINE, NEXT)


def test_cut_while_moving(tmp_path: Path) -> None:
    """The note names both folders: wherever the record is, it is found."""
    spool, run = tmp_path / openings.FOLDER / "a", tmp_path / "case" / "runs" / "0001"
    run.mkdir(parents=True)
    spool.mkdir(parents=True)
    _written(spool, 3)
    folders = (f"{openings.FOLDER}/a", "case/runs/0001")
    openings.write(
        openings.note(tmp_path, "a"),
        openings.Opening(boot=BOOT, machine=MACHINE, folders=folders),
    )
    assert openings.find(tmp_path, MACHINE, NEXT)[0].folder == spool
    (spool / lines.FILE).rename(run / lines.FILE)
    assert openings.find(tmp_path, MACHINE, NEXT)[0].folder == run


def test_drive_that_refuses_costs_the_record_only(tmp_path: Path) -> None:
    """No such folder can be made: the recorder says why and ends; nothing is raised."""
    blocked = tmp_path / "file"
    blocked.write_text("x")
    recording = recorder.start(laptop(), blocked, every=0.05)
    time.sleep(0.2)
    recording.step("memory")
    assert recording.stop().trouble is not None


def test_channels_of_the_header_are_known() -> None:
    assert msgspec.json.decode(lines.encode(_header()))["channels"][0]["name"] == CHANNELS[0].name


@pytest.mark.parametrize("seed", range(30))
def test_thirty_cuts(tmp_path: Path, seed: int) -> None:
    """Killed at any moment: what was on the drive then is whole to within two intervals."""
    recording = recorder.start(laptop(), tmp_path, every=0.05)
    _wait_for_samples(tmp_path, 1)
    time.sleep(random.Random(seed).uniform(0.0, 0.2))
    os.kill(recording.pid, signal.SIGKILL)
    cut = time.time()
    (spool,) = (p for p in (tmp_path / openings.FOLDER).iterdir() if p.is_dir())
    found = openings.read(spool)
    recording.stop()
    assert found is not None and found.closing is None and found.damaged == 0
    assert found.samples[-1].wall is not None
    # A busy machine may delay the process itself; a second is what the promise leaves.
    assert cut - found.samples[-1].wall <= 2 * 0.05 + 1.0


def test_every_line_is_flushed(tmp_path: Path) -> None:
    """The kernel's own account (strace): no sample is written without a flush after it."""
    log = tmp_path / "trace"
    code = (
        "import sys, time; from pathlib import Path; from livecheck import recorder;"
        "from tests.recorder.machines import laptop;"
        "r = recorder.start(laptop(), Path(sys.argv[1]), every=0.1); time.sleep(3); r.stop()"
    )
    calls = "trace=pwrite64,fdatasync,fsync,openat"
    words = ["strace", "-f", "-y", "-s", "40", "-e", calls, "-o", str(log), sys.executable]
    done = subprocess.run(
        [*words, "-c", code, str(tmp_path)], capture_output=True, text=True, check=False
    )
    if "ptrace" in done.stderr and "not permitted" in done.stderr:
        pytest.skip("this machine lets no process watch another (ptrace)")
    assert done.returncode == 0, done.stderr
    lines_of = [x for x in log.read_text("utf-8").splitlines() if lines.FILE in x]
    names = [x.split()[1].partition("(")[0] for x in lines_of]
    samples = [k for k, x in enumerate(lines_of) if "pwrite64" in x and '\\"line\\":\\"s\\"' in x]
    assert len(samples) >= 3
    assert all("sync" in names[k + 1] for k in samples)
    opened = [x for x in log.read_text("utf-8").splitlines() if "O_WRONLY" in x or "O_RDWR" in x]
    assert all(str(tmp_path) in x or "/dev/null" in x or "__pycache__" in x for x in opened)
