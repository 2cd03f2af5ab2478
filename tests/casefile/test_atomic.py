"""Saving is atomic and durable: what POSIX asks for, seen from outside by strace.

Sources: rename(2) and fsync(2) of the Linux man-pages; POSIX.1-2017 rename().
"""

from __future__ import annotations

import os
import re
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from livecheck.casefile import atomic


def test_the_new_file_stands_whole(tmp_path: Path) -> None:
    """After a save the file holds exactly what was given, and nothing else lies beside it."""
    target = tmp_path / "run.json"
    atomic.save(target, b"old")
    atomic.save(target, b"new" * 100_000)
    assert target.read_bytes() == b"new" * 100_000
    assert [p.name for p in tmp_path.iterdir()] == ["run.json"]


@pytest.mark.parametrize("refusing", ["os.write", "os.fsync"])
def test_a_refusing_drive_leaves_the_old_file(
    refusing: str, tmp_path: Path, mocker: MockerFixture
) -> None:
    """A full or dying drive: the old record stands, no rubbish stays."""
    target = tmp_path / "run.json"
    atomic.save(target, b"old")
    mocker.patch(refusing, side_effect=OSError(28, "No space left on device"))
    with pytest.raises(OSError, match="No space left"):
        atomic.save(target, b"new")
    mocker.stopall()
    assert target.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["run.json"]


def test_the_order_of_system_calls(tmp_path: Path) -> None:
    """write, fsync of the file, rename, fsync of the file under its new name (FAT needs it:
    tests/virtual_laptop/power_cuts.py), fsync of the folder: in that order."""
    log = tmp_path / "strace.log"
    target = tmp_path / "run.json"
    code = (
        "from livecheck.casefile import atomic; from pathlib import Path; "
        f"atomic.save(Path({str(target)!r}), b'kept')"
    )
    calls_seen = "trace=openat,write,fsync,rename,renameat,renameat2"
    command = ["strace", "-f", "-o", str(log), "-e", calls_seen, sys.executable, "-c", code]
    subprocess.run(command, check=True, timeout=60)
    lines = log.read_text().splitlines()
    begun = next(i for i, line in enumerate(lines) if ".run.json." in line and "O_CREAT" in line)
    calls = [
        match[1]
        for line in lines[begun:]
        if (match := re.search(r"(openat|write|fsync|rename)\w*\(", line))
    ]
    order = ["openat", "write", "fsync", "openat", "rename", "fsync", "openat", "fsync", "openat"]
    # The second looks whether a file gives way, the last for what power cuts left.
    assert calls == order


def test_while_a_file_gives_way_its_new_content_stands_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """vfat_rename takes the temporary name away and leads the other to the new clusters later:
    a cut between the two leaves neither (found by tests/casefile/crash_states.py)."""
    target, seen, real = tmp_path / "run.json", list[list[bytes]](), os.rename
    synced: set[int] = set()

    def fsync(descriptor: int) -> None:
        synced.add(os.fstat(descriptor).st_ino)

    def rename(*names: str, **folders: int) -> None:
        left = list(tmp_path.glob(".*.new"))
        assert {file.stat().st_ino for file in left} <= synced
        seen.append([file.read_bytes() for file in left])
        real(names[0], names[1], **folders)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "rename", rename)
    atomic.save(target, b"first")
    atomic.save(target, b"second")
    assert seen == [[b"first"], [b"second", b"second"]]
    assert [file.name for file in tmp_path.iterdir()] == ["run.json"]


def test_a_planted_link_leads_no_save_astray(tmp_path: Path) -> None:
    """Under the names an older version gave its temporary files, and under the file's own."""
    outside, folder = tmp_path / "outside", tmp_path / "drive"
    outside.write_text("mine")
    folder.mkdir()
    for name in (f".run.json.{os.getpid()}.new", "run.json"):
        (folder / name).symlink_to(outside)
    atomic.save(folder / "run.json", b"kept")
    assert outside.read_text() == "mine"
    assert not (folder / "run.json").is_symlink()
    assert (folder / "run.json").read_bytes() == b"kept"


def test_a_linked_folder_leads_no_save_astray(tmp_path: Path) -> None:
    """A link on the way is refused and named; nothing is made or changed behind it."""
    outside, folder = tmp_path / "outside", tmp_path / "drive"
    outside.mkdir()
    folder.mkdir()
    (folder / "runs").symlink_to(outside, target_is_directory=True)
    works: tuple[Callable[[], object], ...] = (
        lambda: atomic.save(folder / "runs" / "run.json", b"kept"),
        lambda: atomic.make_folder(folder / "runs" / "0001" / "x"),
        lambda: atomic.take_folder(folder / "runs" / "0001"),
        lambda: os.close(atomic.create(folder / "runs" / "recorder.jsonl")),
        lambda: atomic.try_out(folder / "runs"),
        lambda: atomic.move(folder / "runs", folder / "runs" / "x"),
    )
    for work in works:
        with pytest.raises(OSError, match="'runs', which is a link"):
            work()
    assert list(outside.iterdir()) == []


def test_what_a_power_cut_left_is_taken_away(tmp_path: Path) -> None:
    """A temporary file an hour old is nobody's any more; a younger one may be another bench's."""
    names = ("run.json.0123456789abcdef", "run.json.17", "run.json.ff", "case.json.17")
    old, older, young, others = (tmp_path / f".{name}.new" for name in names)
    for file in (old, older, young, others):
        file.write_text("half")
    for file in (old, older, others):
        os.utime(file, (time.time() - 2 * atomic.STALE_SECONDS,) * 2)
    keep = tmp_path / ".hidden.news"
    keep.touch()
    atomic.save(tmp_path / "run.json", b"kept")
    left = {young.name, others.name, keep.name, "run.json"}
    assert {p.name for p in tmp_path.iterdir()} == left


def test_what_may_be_all_there_is_of_a_file_stays_until_that_is_saved(tmp_path: Path) -> None:
    """A refused save leaves it, too."""
    left = tmp_path / ".run.json.17.new"
    left.write_text("whole")
    os.utime(left, (time.time() - 2 * atomic.STALE_SECONDS,) * 2)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(os, "rename", lambda *_, **__: (_ for _ in ()).throw(OSError(5, "I/O")))
        with pytest.raises(OSError, match="I/O"):
            atomic.save(tmp_path / "run.json", b"new")
    assert atomic.unfinished(tmp_path / "run.json") == [b"whole"]


@pytest.mark.parametrize(
    ("parent", "folder", "file"), [(0o755, 0o700, 0o600), (0o770, 0o770, 0o660),
                                   (0o777, 0o777, 0o666), (0o1777, 0o700, 0o600)]
)  # fmt: skip
def test_who_may_read_and_change_it(tmp_path: Path, parent: int, folder: int, file: int) -> None:
    """The owner alone, or by the share's own rule: whom the folder above lets change it."""
    before = os.umask(0)
    try:
        (tmp_path / "share").mkdir()
        (tmp_path / "share").chmod(parent)
        made = tmp_path / "share" / "cases" / "one"
        atomic.make_folder(made)
        atomic.save(made / "run.json", b"kept")
    finally:
        os.umask(before)
    assert stat.S_IMODE(made.stat().st_mode) == folder
    assert stat.S_IMODE((made / "run.json").stat().st_mode) == file
