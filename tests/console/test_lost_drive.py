"""A shop drive lost in the middle: told at once, the run kept, saved again when it is back."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest

from livecheck import knowledge
from livecheck.casefile import Shop
from livecheck.console import app as console
from livecheck.console.app import Console
from livecheck.console.case_files import ShopWatch
from livecheck.console.requests import SaveKept
from livecheck.console.screens.running import RunningScreen
from livecheck.console.screens.start import StartScreen
from livecheck.console.screens.unsaved import UnsavedScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.plan import Plan
from livecheck.saving import keep_elsewhere, save
from tests.console.console_limits import SIZES, assert_holds, capture_of, until, until_shown
from tests.diagnosis.laptop import DRIVE1, PORT1, drive, laptop, run
from tests.native.locking import needs_locked


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_lost_and_back_again(size: tuple[int, int], tmp_path: Path) -> None:
    """The folder vanishes while the run goes on; it is saved by itself once it is there again,
    and R before that says what is missing."""
    # What may not be locked is not tested, and the run is over before anybody pulls a drive.
    needs_locked(256 << 20)
    shop, elsewhere = tmp_path / "stick", tmp_path / "pocket"
    shop.mkdir()
    app = Console(shop=shop)
    async with app.run_test(size=size) as pilot:
        await until_shown(pilot, "Cases are kept in")
        await pilot.press("enter")
        await until(pilot, RunningScreen)
        await until_shown(pilot, "Memory under test running")
        shop.rename(elsewhere)
        app.watch_shop()
        await until_shown(pilot, "SHOP DRIVE LOST")
        assert_holds(app)
        await pilot.press("x")
        await until(pilot, UnsavedScreen)
        assert_holds(app)
        # Nothing was saved on what lay beneath the drive.
        assert not shop.exists()
        await pilot.press("r")
        await until_shown(pilot, "mount the shop drive")
        elsewhere.rename(shop)
        app.watch_shop()
        await until(pilot, VerdictScreen)
        assert_holds(app)
    assert len(list(shop.glob("livecheck-cases/*/runs/*/run.json"))) == 1


async def test_a_kept_run_that_was_left_is_saved_once_and_by_itself(tmp_path: Path) -> None:
    """Nobody has to be on its screen; a drive that refuses it is not asked again and again."""
    file = str(keep_elsewhere(run(0, laptop(drive(DRIVE1, PORT1)))))
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        app.kept = {"gone": SaveKept(Plan(), "gone")}
        app.watch_shop()
        await until_shown(pilot, "No such file")
        app.kept = {file: SaveKept(Plan(ticket="K-7"), file)}
        app.watch_shop()
        await until_shown(pilot, "Saved on the shop drive")
        assert app.kept == {}
        assert isinstance(app.screen, StartScreen)
        app.watch_shop()
        await pilot.pause(1.0)
    assert len(list(tmp_path.glob("livecheck-cases/*-K-7/runs/*/run.json"))) == 1


async def test_cases_kept_on_this_computer_stay_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It does not live in memory, so that nothing of its own has to be brought onto a drive."""
    shop = tmp_path / "stick"
    shop.mkdir()
    monkeypatch.chdir(tmp_path)
    kept = run(0, laptop(drive(DRIVE1, PORT1)))
    own = save(kept, Plan(ticket="own"), knowledge.load(), Shop(tmp_path / "reports"))
    file = str(keep_elsewhere(kept))
    app = Console(shop=shop, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        app.kept = {file: SaveKept(Plan(ticket="K-7"), file)}
        app.watch_shop()
        await until_shown(pilot, "Saved on the shop drive")
    assert Path(own.run_file).is_file()
    assert len(list(shop.glob("livecheck-cases/*/runs/*/run.json"))) == 1


async def test_a_look_that_takes_long_is_heard_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Longer than from one look to the next, as on a machine that every probe loads."""

    def slow(_: ShopWatch) -> str:
        time.sleep(1.0)
        return "the drive was pulled"

    monkeypatch.setattr(console, "WATCHED_EVERY_SECONDS", 0.2)
    monkeypatch.setattr(ShopWatch, "trouble", slow)
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "SHOP DRIVE LOST: the drive was pulled")


async def test_a_pulled_stick_is_survived(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The program itself cannot be started any more (ENOENT): it is said, the app stays."""
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        monkeypatch.setattr(sys, "executable", str(tmp_path / "gone"))
        await pilot.press("enter")
        await until_shown(pilot, "TROUBLE: The livecheck stick does not answer")
        assert isinstance(app.screen, StartScreen)
        assert_holds(app)


@pytest.mark.slow
@pytest.mark.parametrize("script", ["import sys; sys.exit(1)", "import os; os.abort()"])
async def test_a_worker_that_ends_without_a_word_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str
) -> None:
    """Instead of waiting for ever, or going on as if nothing had been asked."""
    broken = tmp_path / "python"
    broken.write_text(f"#!/bin/sh\nexec {sys.executable} -c '{script}'\n")
    broken.chmod(0o755)
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        monkeypatch.setattr(sys, "executable", str(broken))
        await pilot.press("enter")
        await until_shown(pilot, "ended without a result")
        assert isinstance(app.screen, StartScreen)


async def test_a_folder_no_run_has_made_yet_is_not_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a shop drive cases go into a folder of their own, which the first run makes."""
    monkeypatch.chdir(tmp_path)
    app = Console(source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        app.watch_shop()
        await pilot.pause(0.5)
        assert app.alarm is None
    watch = ShopWatch(tmp_path / "reports" / "livecheck-cases")
    assert watch.trouble() is None
    (tmp_path / "reports").mkdir()
    assert watch.trouble() is None
    (tmp_path / "reports").rmdir()
    assert "gone" in str(watch.trouble())
