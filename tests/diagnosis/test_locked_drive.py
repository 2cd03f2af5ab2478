"""A locked drive is what was found: no part is at fault and nothing is installed anew.

NVM Express base specification, status 2/86h Access Denied; SPC additional sense 74h/79h, from
memory; that nobody installs over what nobody could read is common practice, no source.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from livecheck import cli
from livecheck.wording import text
from tests.bench_stories import odd_beds
from tests.testbeds import stories
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents


def nvme_locked() -> Bed:
    """Every read is answered with Access Denied."""
    lines = []
    for n, sector in enumerate((0, 8, 1000215040)):
        at = 3.0 + n
        lines += [
            (at, 3, f"nvme0n1: I/O Cmd(0x2) @ LBA {sector}, 8 blocks, I/O Error (sct 0x2 / sc 0x86)"
                    " DNR "),
            (at + 0.01, 3, f"critical medium error, dev nvme0n1, sector {sector} op 0x0:(READ) "
                           "flags 0x0 phys_seg 1 prio class 2"),
        ]  # fmt: skip
    return stories.with_drive(odd_beds.OTHERS, tuple(lines))


@pytest.mark.slow
@pytest.mark.parametrize("bed", [odd_beds.locked, nvme_locked])
@pytest.mark.parametrize("complaint", ["slow", "unstable", "part-missing"])
def test_a_locked_drive_is_told(
    bed: Callable[[], Bed], complaint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "bed.capture.gz"
    file.write_bytes(gzip.compress(contents(bed()), 1, mtime=0))
    words = ["run", "--complaint", complaint, "--from", str(file), "--shop", str(tmp_path)]
    assert cli.main([*words, "--json"]) == 0
    told: dict[str, Any] = json.loads(capsys.readouterr().out)
    found = told["location"]
    assert found["unit"] in (None, "software")
    assert "is locked" in found["sentence"]
    steps = [one for one in (found["next_step"], *found["alternatives"]) if one]
    assert "repair installed system" not in [one["action"] for one in steps]
    assert steps[0]["action"] == "change a setting"
    assert "locked" in steps[0]["why"]
    (report,) = tmp_path.glob("livecheck-cases/*/report.html")
    page = " ".join(report.read_text("utf-8").split())
    assert text("meaning.withheld") in page
    assert text("meaning.undetermined") not in page
    assert "It could be" not in page
    failed = {r["check"] for r in told["run"]["readings"] if r["outcome"] == "failed"}
    assert "kernel.storage-protocol" not in failed
