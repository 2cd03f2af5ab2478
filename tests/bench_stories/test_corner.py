"""What comes from round the corner (``corner.py``), played by the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench_stories.bench import cases
from tests.bench_stories.corner import CORNER
from tests.bench_stories.week import Days
from tests.bench_stories.week_bench import play


@pytest.mark.slow
@pytest.mark.parametrize("days", cases(CORNER))
def test_what_comes_from_round_the_corner_is_met(
    days: Days, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    play(days, tmp_path, capsys, monkeypatch)
