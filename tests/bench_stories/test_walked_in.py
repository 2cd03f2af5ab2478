"""What walked in (``walked_in.py``, ``walked_rest.py``), played by the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench_stories.bench import cases, play
from tests.bench_stories.habits import Habit
from tests.bench_stories.walked_in import WALKED
from tests.bench_stories.walked_rest import REST


@pytest.mark.slow
@pytest.mark.parametrize("habit", cases((*WALKED, *REST)))
def test_what_walked_in_is_met(
    habit: Habit, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    play(habit, tmp_path, capsys)
