"""Bad habits at the bench by the command line (``habits.py``): what the program makes of them."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench_stories.bench import cases, play
from tests.bench_stories.habits import ALL, Habit


@pytest.mark.slow
@pytest.mark.parametrize("habit", cases(ALL))
def test_a_bad_habit_is_met(
    habit: Habit, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    play(habit, tmp_path, capsys)
