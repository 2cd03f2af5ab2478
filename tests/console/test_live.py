"""Meters, flex test and guided checks: live, on machines made of a few files.

What they show is held against the machine they watch: the temperature of its thermal
body, the losses of its jack, the events of its keyboard.
"""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from textual.screen import Screen
from textual.widgets import Static

from livecheck import bigtext, flex
from livecheck.console import drawings, glyphs
from livecheck.console.app import Console
from livecheck.console.screens.flex import Flexed, FlexScreen
from livecheck.console.screens.guide import GuideScreen, PatternScreen
from livecheck.console.screens.guided import Given, GuidedScreen
from livecheck.console.screens.help import HelpScreen
from livecheck.console.screens.meters import MetersScreen
from livecheck.console.screens.pick import ChooseScreen, ConfirmScreen, TellScreen
from livecheck.console.screens.self_test import SelfTestScreen
from livecheck.console.screens.start import StartScreen
from livecheck.console.text_list import TextList
from livecheck.console.workflows import bench_tests
from livecheck.console.workflows.tasks import MORE
from livecheck.guided import offered
from livecheck.meters import Stretch
from livecheck.probes.drive.self_test import from_json
from livecheck.probes.finding import Finding
from livecheck.records import Outcome
from tests.console.console_limits import (
    SIZES,
    assert_holds,
    capture_of,
    laid_out,
    shown,
    until,
    until_shown,
)
from tests.flex.test_counter import Jack
from tests.guided.support import LAPTOP, TABLE, TABLES
from tests.guided.test_shell import FakeBench
from tests.inventory.fake_host import FakeHost
from tests.probes.bus.hot_host import HotHost
from tests.test_self_test import DRIVE, _ata, _Drive


class Oven(HotHost):
    """A second of its clock takes a hundredth of ours."""

    def wait(self, seconds: float) -> None:
        time.sleep(seconds / 100)
        super().wait(seconds)


class SlowJack(Jack):
    """Its clock is ours, so that a screen has time to draw."""

    def wait(self, seconds: float) -> None:
        time.sleep(seconds / 2)
        super().wait(seconds)


class SlowDrive(_Drive):
    """A second of its clock takes a twentieth of ours."""

    def wait(self, seconds: float) -> None:
        time.sleep(seconds / 20)
        super().wait(seconds)


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_meters(size: tuple[int, int], tmp_path: Path) -> None:
    """Every meter of the machine in a line, limits in words, the course of the chosen one."""
    app = Console(shop=tmp_path)
    oven = Oven(limit=60, battery={"online": 0})
    oven.loaded = True
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        await app.push_screen(MetersScreen(oven, 1.0))
        await until_shown(pilot, "OVER LIMIT")
        await until_shown(pilot, "NO POWER")
        assert_holds(app)
        lines = " ".join(shown(app))
        for words in ("Fan", "3200 1/min", "°C", "LOST", "W"):
            assert words in lines
        course = str(app.screen.query_one("#course", Static).render())
        assert glyphs.FULL in course
        await pilot.press("l", "down", "down")
        await pilot.pause(0.1)
        assert_holds(app)
        await pilot.press("escape")
        await until(pilot, StartScreen)


async def test_a_machine_without_sensors_says_so(tmp_path: Path) -> None:
    """Nothing is drawn that was not read."""
    app = Console(shop=tmp_path)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        await app.push_screen(MetersScreen(FakeHost(), 1.0))
        await until_shown(pilot, "no sensor")
        assert_holds(app)


@pytest.mark.parametrize("size", SIZES)
async def test_flex(size: tuple[int, int], tmp_path: Path) -> None:
    """Three losses are counted, shown large and told with a bell each; the result is kept."""
    app = Console(shop=tmp_path)
    jack = SlowJack([(0.3, 0.2), (0.8, 0.1), (1.2, 0.3)])
    kept: list[Flexed | None] = []
    rung = 0

    def bell() -> None:
        nonlocal rung
        rung += 1

    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        app.bell = bell  # type: ignore[method-assign]
        (supply,) = flex.supplies(jack)
        await app.push_screen(FlexScreen(jack, supply), kept.append)
        await until_shown(pilot, "watched.")
        assert_holds(app)
        await until_shown(pilot, "at 1.2")
        assert_holds(app)
        # The count stands in letters five lines high or more.
        page = str(app.screen.query_one("#page", Static).render()).splitlines()
        word = page[len(page) // 2 :]
        assert sum(glyphs.FULL in line for line in word) >= bigtext.HEIGHT
        await pilot.press("k")
        await until_shown(pilot, "known-good one of the shop")
        await pilot.press("d")
        await until(pilot, StartScreen)
    assert rung == 3
    (flexed,) = kept
    assert flexed is not None
    assert flexed.result.count == 3
    assert flexed.spare
    assert flexed.result.label == "bench spare"


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_guided_checks(size: tuple[int, int], tmp_path: Path) -> None:
    """Every check this machine has hardware for can be begun, holds on the console, and left."""
    app = Console(shop=tmp_path)
    offers = offered(LAPTOP, TABLE)
    kept: list[Given | None] = []
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        screen = GuidedScreen(offers, TABLE, TABLES, FakeHost(), FakeBench())
        await app.push_screen(screen, kept.append)
        await until(pilot, GuidedScreen)
        assert_holds(app)
        await pilot.press("a")
        for _ in range(1200):
            await pilot.pause(0.02)
            if app.screen is screen:
                break
            if isinstance(app.screen, GuideScreen) and laid_out(app):
                assert_holds(app)
                await pilot.press("f9")
        assert len(screen.given.steps) == len(offers)
        assert_holds(app)
        await pilot.press("d")
        await until(pilot, StartScreen)
    (given,) = kept
    assert given is not None
    covered = {t.component for o in offers for t in o.targets}
    assert covered
    assert all(reading.outcome for reading in given.readings())
    assert len(given.left_out()) >= len(offers) - len(given.readings())


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_the_display_is_judged_by_its_patterns(size: tuple[int, int], tmp_path: Path) -> None:
    """Each pattern fills every cell with what it should be; any key goes on; one answer."""
    app = Console(shop=tmp_path)
    offers = [o for o in offered(LAPTOP, TABLE) if o.row.guide == "display"]
    kept: list[Given | None] = []
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        screen = GuidedScreen(offers, TABLE, TABLES, FakeHost(), FakeBench())
        await app.push_screen(screen, kept.append)
        await until(pilot, GuidedScreen)
        await pilot.press("enter")
        await until(pilot, GuideScreen)
        await until_shown(pilot, "Ready to look?")
        await pilot.press("h")
        await until(pilot, HelpScreen)
        await pilot.press("escape", "p")
        papers = []
        for _ in range(8):
            await until(pilot, PatternScreen)
            await pilot.pause(0.3)
            papers.append(_paper(app.screen))
            assert len(shown(app)) == size[1]
            await pilot.press("space")
        await until_shown(pilot, "E = Even and whole")
        assert_holds(app)
        await pilot.press("d")
        await until(pilot, GuidedScreen)
        await pilot.press("d")
        await until(pilot, StartScreen)
    assert {"0", "1", "2", "4"} <= set(papers)
    (given,) = kept
    assert given is not None
    assert [r.outcome for r in given.readings()] == [Outcome.FAILED]


def _paper(screen: Screen[object]) -> str:
    """The background colour's number of the middle of the screen."""
    strip = screen._compositor.render_strips()[screen.size.height // 2]
    styles = {s.style.bgcolor.number for s in strip if s.style is not None and s.style.bgcolor}
    return ",".join(str(n) for n in sorted(n for n in styles if n is not None))


@pytest.mark.parametrize("size", SIZES)
async def test_the_menu_of_other_tests(size: tuple[int, int], tmp_path: Path) -> None:
    """From the start screen; what the machine has no hardware for is said in a sentence."""
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=size) as pilot:
        await until_shown(pilot, "Cases are kept in")
        await pilot.press("m")
        await until(pilot, ChooseScreen)
        assert_holds(app)
        assert app.screen.query_one(TextList).option_count == len(MORE)
        await pilot.press("down", "enter")
        await until(pilot, TellScreen)
        assert_holds(app)


def test_bars_and_courses() -> None:
    """Lengths and levels by arithmetic; blank where nothing was read."""
    assert drawings.bar(0.5, None, 10) == "█████░░░░░"
    assert drawings.bar(0.2, 0.9, 10) == "██░░░░░░░|"
    assert drawings.bar(None, None, 4) == "    "
    columns = [Stretch(0, 0, 0), None, Stretch(5, 10, 5), Stretch(10, 10, 10)]
    rows = [row.partition("│")[2].ljust(4) for row in drawings.course(columns, 3)]
    assert rows == ["  ▒█", "  ██", "█ ██"]
    assert drawings.course([None, None], 5) == []


@pytest.mark.parametrize("size", SIZES)
async def test_a_drive_tests_itself(size: tuple[int, int], tmp_path: Path) -> None:
    """How far it is; X breaks it off, and the drive is told so (smartctl -X)."""
    app = Console(shop=tmp_path)
    drive = SlowDrive([_ata(0xF9)])
    ended: list[object] = []
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        before = from_json(_ata(0))
        screen = SelfTestScreen(drive, DRIVE, "sg0", before, "short")
        await app.push_screen(screen, ended.append)
        await until_shown(pilot, "90 % left")
        assert_holds(app)
        await until_shown(pilot, "The drive states 2 min")
        await pilot.press("x")
        await until(pilot, StartScreen)
    assert drive.asked[-1] == ("smartctl", "-j", "-X", "/dev/sg0")
    assert isinstance(ended[0], Finding)
    assert ended[0].outcome is Outcome.NOT_JUDGED


async def test_the_flex_test_heeds_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The caution and what to do stand on a screen of their own, before anything is moved."""
    monkeypatch.setattr(bench_tests, "host_of", lambda console: SlowJack([]))
    app = Console(shop=tmp_path)
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        await pilot.press("m")
        await until(pilot, ChooseScreen)
        await pilot.press("down", "enter")
        await until(pilot, ConfirmScreen)
        assert "CAUTION: The adapter carries mains voltage" in " ".join(shown(app))
        assert_holds(app)
        await pilot.press("y")
        await until(pilot, FlexScreen)
        await until_shown(pilot, "s watched.")
        await pilot.press("escape")
        await until(pilot, StartScreen)
