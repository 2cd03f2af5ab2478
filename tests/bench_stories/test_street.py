"""What comes from the street (``street.py``), played by the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from livecheck import cli
from tests.bench_stories.bench import Bench, cases, play
from tests.bench_stories.habits import Habit
from tests.bench_stories.street import STREET, TEN


@pytest.mark.slow
@pytest.mark.parametrize("habit", cases(STREET))
def test_what_comes_from_the_street_is_met(
    habit: Habit, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    play(habit, tmp_path, capsys)
    (case,) = (tmp_path / "shop").glob("livecheck-cases/*/case.json")
    assert cli.main(["locate", str(case.parent)]) == 0
    first = "\n".join(capsys.readouterr().out.splitlines()[:10]).lower()
    assert [words for words in TEN[habit.name] if words.lower() not in first] == [], first


def test_a_swollen_battery_comes_out_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before the pad that it presses is tried or bought."""
    (told,) = (habit for habit in STREET if habit.name.startswith("swollen"))
    bench = Bench(tmp_path, capsys)
    for did in told.does[:3]:
        bench.do(did)
    step = bench.located()["next_step"]
    assert (step["action"], step["target"]) == ("replace", "battery:AW-50 0933")
