"""What comes from round the corner (``corner.py``), played by the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench_stories.bench import cases
from tests.bench_stories.corner import CORNER
from tests.bench_stories.test_week import WeekBench, _line
from tests.bench_stories.week import Days


@pytest.mark.slow
@pytest.mark.parametrize("days", cases(CORNER))
def test_what_comes_from_round_the_corner_is_met(
    days: Days, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = WeekBench(tmp_path, capsys)
    if days.shop:
        (bench.shop / "shop.toml").write_text(days.shop, "utf-8")
    for number, then in enumerate(days.does, 1):
        try:
            _line(then, bench, monkeypatch)
        except AssertionError as error:
            raise AssertionError(f"line {number}: {' '.join(then.words)}\n{error}") from error
