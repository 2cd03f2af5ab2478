"""A run taken out of its case by keyboard, and put back: the same as the command does."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from livecheck.casefile import CaseFolder
from livecheck.console.app import Console
from livecheck.console.screens.pick import ChooseScreen
from livecheck.console.screens.resume import ResumeScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.console.screens.words import WordsScreen
from tests.console.console_limits import SIZES, assert_holds, shown, until, until_shown
from tests.console.test_case_end import _replay


async def _toward_the_runs(pilot: Pilot[int]) -> None:
    await until(pilot, ResumeScreen)
    await pilot.press("v")
    await until(pilot, VerdictScreen)
    await pilot.press("x")
    await until(pilot, ChooseScreen)


@pytest.mark.parametrize("size", SIZES)
async def test_a_run_is_taken_out_and_put_back(size: tuple[int, int], tmp_path: Path) -> None:
    """The verdict is that of the runs that are left; the report says why."""
    _replay(tmp_path, "drive-1")
    source = _replay(tmp_path, "drive-2")
    (path,) = tmp_path.glob("livecheck-cases/*/")
    app = Console(shop=tmp_path, source=source)
    async with app.run_test(size=size) as pilot:
        await _toward_the_runs(pilot)
        assert any("Run 2, " in line for line in shown(app))
        assert_holds(app)
        await pilot.press("down", "enter")
        await until(pilot, WordsScreen)
        assert_holds(app)
        await pilot.press(*"another laptop", "enter")
        await until_shown(pilot, "runs: 1")
        assert [run.number for run in CaseFolder(path).load().runs] == [1]
        assert [one.why for one in CaseFolder(path).case().taken_out] == ["another laptop"]
        assert "another laptop" in (path / "report.html").read_text("utf-8")
        await pilot.press("x")
        await until_shown(pilot, "Put run 2 back")
        await pilot.press("down", "enter")
        await until_shown(pilot, "runs: 2")
        assert CaseFolder(path).case().taken_out == ()
        assert [run.number for run in CaseFolder(path).load().runs] == [1, 2]


async def test_leaving_changes_nothing(tmp_path: Path) -> None:
    """At either question; and the list of more tests leads there too."""
    source = _replay(tmp_path, "drive-1")
    (path,) = tmp_path.glob("livecheck-cases/*/")
    before = (path / "case.json").read_bytes()
    app = Console(shop=tmp_path, source=source)
    async with app.run_test(size=(80, 25)) as pilot:
        await _toward_the_runs(pilot)
        await pilot.press("escape")
        await until(pilot, VerdictScreen)
        await pilot.press("m")
        await until_shown(pilot, "Take a run out")
        await pilot.press("end", "enter")
        await until_shown(pilot, "Which run is no part")
        await pilot.press("enter")
        await until(pilot, WordsScreen)
        await pilot.press("escape")
        await until(pilot, VerdictScreen)
    assert (path / "case.json").read_bytes() == before
