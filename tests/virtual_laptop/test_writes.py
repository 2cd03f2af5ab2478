"""Logs of writes, made and read back without a guest. The log is made by QEMU's own driver."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from tests.virtual_laptop import lead, power_cuts, writes

COMMANDS = ("write -P 5 4096 1024", "flush", "write -P 6 8192 512", "write -P 7 12288 512")


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Two sectors of 5 flushed, then a sector of 6 and one of 7 that are not."""
    if shutil.which("qemu-io") is None:
        pytest.skip("qemu-io is not on this machine (package qemu-utils)")
    image, log = tmp_path / "drive", tmp_path / "log"
    image.write_bytes(bytes(16 << 10))
    log.touch()
    options = (
        f"driver=blklogwrites,file.driver=file,file.filename={image},log.driver=file,"
        f"log.filename={log},log-super-update-interval=1"
    )
    told = [word for words in COMMANDS for word in ("-c", words)]
    subprocess.run(["qemu-io", "--image-opts", options, *told], check=True, capture_output=True)
    return log


def state(log: Path, instant: int, fate: str, seed: int = 0) -> bytes:
    empty, made = log.with_name("empty"), log.with_name("made")
    empty.write_bytes(bytes(16 << 10))
    replay = writes.Replay(empty, log, instant)
    replay.state(instant, fate, seed, made)
    replay.close()
    return made.read_bytes()


def test_what_landed_is_what_the_drive_holds(log: Path) -> None:
    landed = state(log, writes.count(log), writes.LANDED)
    assert landed == log.with_name("drive").read_bytes()


def test_a_part_of_the_drive_is_that_part(log: Path) -> None:
    empty, made = log.with_name("empty"), log.with_name("made")
    empty.write_bytes(bytes(16 << 10))
    replay = writes.Replay(empty, log, writes.count(log), (4608, 8704))
    replay.state(writes.count(log), writes.LANDED, 0, made)
    replay.close()
    assert made.read_bytes() == log.with_name("drive").read_bytes()[4608:8704]


def test_what_was_not_flushed_may_be_lost(log: Path) -> None:
    """Operations: write, flush, write, write, and the flush with which QEMU closes."""
    dropped = state(log, 4, writes.DROPPED)
    assert dropped[4096:5120] == b"\5" * 1024
    assert dropped[8192] == dropped[12288] == 0
    assert state(log, 1, writes.DROPPED) == bytes(16 << 10)
    mixed = {(m[8192], m[12288]) for m in (state(log, 4, writes.MIXED, n) for n in range(40))}
    assert mixed == {(0, 0), (6, 0), (0, 7), (6, 7)}


def test_reported_runs_are_found_in_what_was_said() -> None:
    text = (
        "Case:   /media/shopdrive/livecheck-cases/2026-01-01-C1\n"
        "Run:    /media/shopdrive/livecheck-cases/2026-01-01-C1/runs/0001/run.json\n"
        "Run:    /media/shopdrive/livecheck-cases/2026-01-01-C2/runs/0001/ru"
    )
    assert power_cuts.saved(text) == ("livecheck-cases/2026-01-01-C1/runs/0001/run.json",)


def test_losses_are_compared_whatever_the_clocks_say() -> None:
    played = [(100.0, 0.06), (102.0, 2.0)]
    seen = [
        {"start": 3.01, "seconds": 0.05, "uncertain": 0.01},
        {"start": 5.01, "seconds": 2.0, "uncertain": 0.01},
    ]
    told = lead.compared(played, {"losses": seen, "longest_gap": 0.02, "usual_gap": 0.01})
    assert (told["played"], told["counted"]) == (2, 2)
    assert all(abs(loss["start_wrong_by_s"]) < 0.001 for loss in told["losses"])
