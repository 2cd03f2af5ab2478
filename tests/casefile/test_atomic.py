"""Saving is atomic and durable: what POSIX asks for, seen from outside by strace.

Sources: rename(2) and fsync(2) of the Linux man-pages; POSIX.1-2017 rename().
"""

from __future__ import annotations

import re
import subprocess
import sys
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
    tests/virtual_laptop/cuts.py), fsync of the folder: in that order."""
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
    assert calls == ["openat", "write", "fsync", "rename", "fsync", "openat", "fsync"]
