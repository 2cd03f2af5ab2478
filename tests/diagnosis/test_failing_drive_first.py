"""A drive that loses data comes first, whatever else the complaint could be of.

Common practice of the trade, no source: what is lost cannot be bought again, and a drive with
unreadable sectors makes a machine freeze.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from livecheck import cli
from tests.bench_stories import odd_beds
from tests.testbeds import laptops, stories
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents
from tests.testbeds.smartctl import Drive

FEW = Drive("OSTREVAR S3 480GB", "OSV480E77AA", "V2.10", 480 * laptops.GB,
            raw={5: 4, 197: 2, 198: 2, 187: 3, 9: 31_000}, hours=31_000)  # fmt: skip
UNCORRECTABLE = ("ata1.00: exception Emask 0x0 SAct 0x40 SErr 0x0 action 0x0",
                 "ata1.00: failed command: READ FPDMA QUEUED", "ata1.00: status: { DRDY ERR }",
                 "ata1.00: error: { UNC }")  # fmt: skip


def few_sectors() -> Bed:
    """Two sectors wait to be reallocated."""
    return stories.two_bays(FEW, 1, ())


def unreadable() -> Bed:
    """The drive says nothing bad of itself, and cannot read its medium."""
    bed = stories.two_bays(odd_beds.LOCKED, 1, ())
    lines = [(60.0 + 9 * n + at / 100, 3, words)
             for n in range(3) for at, words in enumerate(UNCORRECTABLE)]  # fmt: skip
    return odd_beds._said(bed, lines)


@pytest.mark.slow
@pytest.mark.parametrize("bed", [few_sectors, unreadable])
@pytest.mark.parametrize("complaint", ["unstable", "slow"])
def test_the_drive_is_tested_first(
    bed: Callable[[], Bed], complaint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "bed.capture.gz"
    file.write_bytes(gzip.compress(contents(bed()), 1, mtime=0))
    words = ["run", "--complaint", complaint, "--from", str(file), "--shop", str(tmp_path)]
    assert cli.main([*words, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)["location"]
    step = found["next_step"]
    assert step["action"] in ("deeper probe", "replace")
    assert step["target"].startswith("drive:")
    assert "data" in step["cautions"]
