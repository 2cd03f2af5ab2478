"""Over the counter (``counter.py``, ``counter_rest.py``), played by the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench_stories.bench import cases, play
from tests.bench_stories.counter import COUNTER
from tests.bench_stories.counter_rest import COUNTER_REST
from tests.bench_stories.habits import Habit


@pytest.mark.slow
@pytest.mark.parametrize("habit", cases((*COUNTER, *COUNTER_REST)))
def test_what_comes_over_the_counter_is_met(
    habit: Habit, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    play(habit, tmp_path, capsys)
