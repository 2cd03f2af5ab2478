"""A swollen battery that was told of at the counter stays a finding until another one is in.

Common practice, no source; charging or giving back a swollen cell is what every maker warns of.
"""

from __future__ import annotations

import gzip
from collections.abc import Callable
from pathlib import Path

import pytest

from livecheck import cli
from tests.bench_stories import odd_beds
from tests.bench_stories.fresh_beds import hands
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents

TOLD = ("--told", "marks=bulging battery: switch off, do not charge")


def other_battery() -> Bed:
    return odd_beds._changed(hands(), "power_supply", {"serial_number": "0514"}, "BAT0")


def _typed(folder: Path, bed: Callable[[], Bed], *words: str) -> int:
    file = folder / f"{bed.__name__}.capture.gz"
    file.write_bytes(gzip.compress(contents(bed()), 1, mtime=0))
    where = ("--ticket", "4711", "--shop", str(folder), "--from", str(file))
    return cli.main([*words, *where])


@pytest.mark.slow
@pytest.mark.parametrize("complaint", ["slow", "unstable", "switches-off"])
def test_it_bars_the_way_back(
    complaint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _typed(tmp_path, hands, "run", "--complaint", complaint, *TOLD) == 0
    printed = capsys.readouterr().out
    assert "is swollen" in " ".join(printed.split())
    assert "longer soak" not in printed
    assert "deeper probe" not in printed
    assert _typed(tmp_path, hands, "hand-over") == 1
    assert "is swollen" in " ".join(capsys.readouterr().out.split())
    assert _typed(tmp_path, other_battery, "run", "--complaint", complaint) == 0
    capsys.readouterr()
    assert _typed(tmp_path, other_battery, "hand-over") == 0


def test_the_customers_own_words_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--told", "words=the battery is swollen")
    assert _typed(tmp_path, hands, "run", "--complaint", "slow", *words) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "is swollen" in printed
    assert "CAUTION: A swollen" in printed
    assert "longer soak" not in printed


@pytest.mark.slow
def test_nobody_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert _typed(tmp_path, hands, "run", "--complaint", "slow") == 0
    assert "swollen" not in capsys.readouterr().out
