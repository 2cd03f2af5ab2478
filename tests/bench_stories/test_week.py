"""A week at a bench (``week.py``), played by the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench_stories.bench import cases
from tests.bench_stories.week import WEEK, Days
from tests.bench_stories.week_bench import play


@pytest.mark.slow
@pytest.mark.parametrize("days", cases(WEEK))
def test_a_machine_of_the_week(
    days: Days, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    play(days, tmp_path, capsys, monkeypatch)


def test_the_week_has_two_of_each_sort() -> None:
    sorts = [days.name.replace(",", ":").split(":")[0].split()[0] for days in WEEK]
    assert len(WEEK) == 16
    assert all(sorts.count(sort) == 2 for sort in sorts)
