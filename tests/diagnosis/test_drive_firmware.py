"""A drive that stalls and loses nothing may have its own firmware at fault: that comes first.

Common practice of the trade, no source; makers publish such updates, and an update can lose data.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from livecheck import cli
from tests.testbeds import laptops, stories
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents
from tests.testbeds.smartctl import Drive

STALLS = Drive("OSTREVAR S7 480GB", "OSV480STALL1", "V1.00", 480 * laptops.GB,
               raw={9: 1200}, hours=1200)  # fmt: skip
LOSES = Drive("OSTREVAR S7 480GB", "OSV480STALL1", "V1.00", 480 * laptops.GB,
              raw={9: 1200, 197: 40, 198: 40}, hours=1200)  # fmt: skip


def _stalling(drive: Drive, port: int) -> Bed:
    """The kernel waits in vain, again and again, whatever port it is at."""
    ata = f"ata{port}"
    lines: list[tuple[float, int, str]] = []
    for n in range(6):
        at = 60.0 + 45 * n
        lines += [
            (at, 3, f"{ata}.00: exception Emask 0x0 SAct 0x10 SErr 0x0 action 0x6 frozen"),
            (at + 0.01, 3, f"{ata}.00: failed command: READ FPDMA QUEUED"),
            (at + 0.02, 3, f"{ata}.00: status: {{ DRDY }}"),
            (at + 0.03, 6, f"{ata}: hard resetting link"),
        ]
    return stories.two_bays(drive, port, tuple(lines))


def at_port_1() -> Bed:
    return _stalling(STALLS, 1)


def loses_1() -> Bed:
    return _stalling(LOSES, 1)


SET = ("--answer", "drive:OSV480STALL1=set")
FLASHED = ("--answer", "drive:OSV480STALL1=re-flashed")


def _steps(
    visits: tuple[tuple[Callable[[], Bed], tuple[str, ...]], ...],
    folder: Path,
    capsys: pytest.CaptureFixture[str],
) -> list[dict[str, Any]]:
    """The last verdict's steps, best first."""
    found: dict[str, Any] = {}
    for bed, words in visits:
        file = folder / f"{bed.__name__}.capture.gz"
        file.write_bytes(gzip.compress(contents(bed()), 1, mtime=0))
        asked = ["run", "--complaint", "slow", "--from", str(file), "--shop", str(folder), *words]
        assert cli.main([*asked, "--json"]) == 0
        found = json.loads(capsys.readouterr().out)["location"]
    return [one for one in (found["next_step"], *found["alternatives"]) if one]


@pytest.mark.slow
def test_its_firmware_once_a_setting_did_not_help(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    step, *_ = _steps(((at_port_1, ()), (at_port_1, SET)), tmp_path, capsys)
    assert (step["action"], step["target"]) == ("re-flash firmware", "drive:OSV480STALL1")
    assert "data" in step["cautions"]
    assert "(V1.0)" in step["why"]


@pytest.mark.slow
@pytest.mark.parametrize("words", [FLASHED, ("--answer", "firmware=re-flashed")])
def test_it_is_updated_once(
    words: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visits = ((at_port_1, ()), (at_port_1, SET), (at_port_1, words))
    steps = _steps(visits, tmp_path, capsys)
    assert "re-flash firmware" not in [one["action"] for one in steps]


@pytest.mark.slow
def test_a_drive_that_loses_data_is_not_updated(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    steps = _steps(((loses_1, ()), (loses_1, SET)), tmp_path, capsys)
    assert "re-flash firmware" not in [one["action"] for one in steps]
    assert steps[0]["target"] == "drive:OSV480STALL1"
