"""What hangs on a plug, or sits in a slot at the edge, is tried without or elsewhere first.

Common practice of the trade, no source.
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
from tests.testbeds import laptops
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents

Visit = tuple[Callable[[], Bed], tuple[str, ...]]


def _located(
    complaint: str, visits: tuple[Visit, ...], folder: Path, capsys: pytest.CaptureFixture[str]
) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for bed, words in visits:
        file = folder / f"{bed.__name__}.capture.gz"
        file.write_bytes(gzip.compress(contents(bed()), 1, mtime=0))
        asked = ["run", "--complaint", complaint, "--from", str(file), "--shop", str(folder)]
        assert cli.main([*asked, *words, "--json"]) == 0
        found = json.loads(capsys.readouterr().out)["location"]
    return found


@pytest.mark.slow
@pytest.mark.parametrize(
    ("bed", "box"),
    [(odd_beds.dock, "usb-device@usb:1-2"), (odd_beds.boxed_drive, "drive:BX-2207")],
)
def test_the_outermost_box_is_left_off_once(
    bed: Callable[[], Bed], box: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    step = _located("unstable", ((bed, ()),), tmp_path, capsys)["next_step"]
    assert (step["action"], step["target"]) == ("remove", box)
    visits: tuple[Visit, ...] = ((laptops.nvme, ()), (bed, ()))
    found = _located("unstable", visits, tmp_path, capsys)
    steps = [found["next_step"], *found["alternatives"]]
    assert (steps[0]["action"], steps[0]["target"]) == ("move to another place", box)
    assert "lead" in steps[0]["why"]
    assert found["unit"] != "mainboard"


@pytest.mark.slow
def test_a_card_that_fails_is_changed_before_its_reader(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = _located("part-missing", ((odd_beds.card_bad, ()),), tmp_path, capsys)
    told = [(one["action"], one["target"]) for one in (found["next_step"], *found["alternatives"])]
    assert told[:2] == [
        ("swap with known-good", "sd-card@mmc:mmc1"),
        ("test in known-good machine", "sd-card@mmc:mmc1"),
    ]
    spare = ("--answer", "mmc:mmc1=known-good spare")
    found = _located("part-missing", ((odd_beds.card_bad, spare),), tmp_path, capsys)
    chance = {one["kind"]: one["probability"] for one in reversed(found["candidates"])}
    assert chance["card-slot"] > chance.get("sd-card", 0.0)
    assert found["unit"] is None
