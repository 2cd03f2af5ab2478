"""Fresh ground (``fresh.py``): what the program makes of machines nobody had written of."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench_stories.bench import cases, play
from tests.bench_stories.fresh import ALL
from tests.bench_stories.habits import Habit


@pytest.mark.slow
@pytest.mark.parametrize("habit", cases(ALL))
def test_a_fresh_machine_is_met(
    habit: Habit, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    play(habit, tmp_path, capsys)
