"""Every screen by keyboard alone, on what a raw Linux console can draw (see ``console_limits``)."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input, Static

from livecheck import demo, knowledge
from livecheck.console.app import Console
from livecheck.console.progress import MOST_FINDINGS
from livecheck.console.screens.big import BigScreen
from livecheck.console.screens.cases import CasesScreen
from livecheck.console.screens.evidence import EvidenceScreen, ReadingScreen
from livecheck.console.screens.help import HelpScreen
from livecheck.console.screens.options import OptionsScreen
from livecheck.console.screens.pick import ConfirmScreen, PickScreen, TellScreen
from livecheck.console.screens.resume import ResumeList, ResumeScreen
from livecheck.console.screens.running import RunningScreen
from livecheck.console.screens.start import ComplaintList, StartScreen
from livecheck.console.screens.step import StepScreen
from livecheck.console.screens.tree import TreeScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.console.screens.worksheet import WorksheetScreen
from livecheck.console.text_list import TextList
from livecheck.diagnosis import worksheet
from livecheck.probes import Progress, registry
from livecheck.probes.runner import Event
from livecheck.records import Complaint, Outcome, ProbeRun, Reading, WhereShown
from tests.console.console_limits import SIZES, assert_holds, capture_of, shown, until, until_shown


@pytest.mark.parametrize("size", SIZES)
async def test_a_run_from_start_to_verdict_and_all_behind_it(
    size: tuple[int, int], tmp_path: Path
) -> None:
    """T, ticket, Enter, complaint, Enter; the run; the verdict; every screen behind it; leave."""
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        assert_holds(app)
        await pilot.press("t", *"T-9", "enter", "up")
        assert app.screen.query_one(Input).value == "T-9"
        assert isinstance(app.focused, ComplaintList)
        assert_holds(app)
        await pilot.press("enter")
        await until(pilot, VerdictScreen)
        assert_holds(app)
        for keys, kind in (
            ("e", EvidenceScreen), ("enter", ReadingScreen), ("escape escape t", TreeScreen),
            ("f", TreeScreen), ("enter", EvidenceScreen), ("escape escape n", StepScreen),
            ("h", HelpScreen), ("escape b", BigScreen), ("escape escape b", BigScreen),
            ("escape p", ConfirmScreen), ("n h", HelpScreen),
        ):  # fmt: skip
            await pilot.press(*keys.split())
            await until(pilot, kind)
            await pilot.pause(0.6 if kind is BigScreen else 0.05)
            assert_holds(app)
        await pilot.press("escape", "q")
    assert len(list(tmp_path.glob("livecheck-cases/*/report.html"))) == 1


@pytest.mark.slow
async def test_every_claim_has_its_evidence_at_one_key(tmp_path: Path) -> None:
    """Whatever line of the verdict is under the bar, E shows lines that are not empty."""
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        await pilot.press("enter")
        await until(pilot, VerdictScreen)
        listed = app.screen.query_one(TextList)
        rows = [i for i in range(listed.option_count) if not listed.get_option_at_index(i).disabled]
        assert len(rows) > 5
        for index in rows:
            listed.highlighted = index
            await pilot.press("e")
            await until(pilot, EvidenceScreen)
            assert app.screen.query_one(TextList).option_count > 0
            assert_holds(app)
            await pilot.press("escape")
            await until(pilot, VerdictScreen)


@pytest.mark.parametrize("size", SIZES)
async def test_while_it_runs(size: tuple[int, int], tmp_path: Path) -> None:
    """What is tested now, time left, share done, findings and endings, as events come in."""
    app = Console(shop=tmp_path)
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        screen = RunningScreen(registry.ALL, {})
        await app.push_screen(screen)
        first, second, third = registry.ALL[:3]
        lost = Reading(
            check="x", at="machine", outcome=Outcome.FAILED, says="[bold]data\x1b[2J lost"
        )
        over = ProbeRun(probe=third.name, seconds=1.0, ended="did not answer")
        for event in (
            Event(kind="started", probe=first.name, title=first.title),
            Event(kind="started", probe=second.name, title=second.title),
            Event(kind="progress", probe=second.name, title=second.title,
                  progress=Progress(says="reading", done=0.4, seconds_left=12)),
            Event(kind="reading", probe=first.name, title=first.title, reading=lost,
                  where="SATA port 1"),
            Event(kind="ended", probe=third.name, title=third.title, ended=over),
        ):  # fmt: skip
            screen.happened(event)
        await until_shown(pilot, "data")
        assert_holds(app)
        table = str(screen.query_one("#table", Static).render())
        assert "running 40%, 12 s left" in table
        assert "no answer (1.0 s)" in table
        assert table.count("waiting") == len(registry.ALL) - 3
        # What a device says is shown as text: neither markup nor a terminal escape acts.
        assert "FAILED SATA port 1: [bold]data[U+001B][2J lost" in " ".join(
            " ".join(shown(app)).split()
        )
        await pilot.press("b")
        await until(pilot, BigScreen)
        await pilot.pause(0.6)
        assert_holds(app)
        await pilot.press("b", "p")
        await until_shown(pilot, "PAUSED")
        await pilot.press("enter")
        await until(pilot, ReadingScreen)
        assert_holds(app)


async def test_the_last_of_many_findings_is_shown_and_opened(tmp_path: Path) -> None:
    """A drive with hundreds of bad places fills the list, and the newest stands in it."""
    app, probe = Console(shop=tmp_path), registry.ALL[0]
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        screen = RunningScreen(registry.ALL, {})
        await app.push_screen(screen)
        for first in (0, MOST_FINDINGS):
            for number in range(first, first + MOST_FINDINGS):
                found = Reading(check="x", at="m", outcome=Outcome.FAILED, says=f"finding {number}")
                screen.happened(Event(kind="reading", probe=probe.name, title="", reading=found))
            await until_shown(pilot, f"finding {first + MOST_FINDINGS - 1}")
        await pilot.press("end", "enter")
        await until(pilot, ReadingScreen)
        await until_shown(pilot, f"finding {2 * MOST_FINDINGS - 1}")


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_the_case_index(size: tuple[int, int], demo_shop: Path, tmp_path: Path) -> None:
    """Every case is listed and found by its words; Enter opens its verdict."""
    app = Console(shop=demo_shop, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=size) as pilot:
        await until(pilot, ResumeScreen)
        await pilot.press("c")
        await until(pilot, CasesScreen)
        assert app.screen.query_one(TextList).option_count == len(demo.stories())
        assert_holds(app)
        wanted = demo.stories()[1].ticket
        await pilot.press("f", *wanted.lower())
        lines = app.screen.query_one(TextList)
        for _ in range(200):
            await pilot.pause(0.05)
            if lines.option_count == 1:
                break
        assert lines.option_count == 1
        assert wanted in " ".join(shown(app))
        assert_holds(app)
        await pilot.press("enter", "b")
        await until(pilot, TellScreen)
        assert_holds(app)
        await pilot.press("escape", "enter")
        await until(pilot, VerdictScreen)
        assert_holds(app)


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_the_case_goes_on_by_itself(
    size: tuple[int, int], demo_shop: Path, tmp_path: Path
) -> None:
    """A machine that was here: what changed, the one question, its lists, and options."""
    app = Console(shop=demo_shop, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=size) as pilot:
        await until(pilot, ResumeScreen)
        await until_shown(pilot, "Known here")
        await until_shown(pilot, "So far:")
        assert_holds(app)
        screen = app.screen
        assert isinstance(screen, ResumeScreen)
        rows = [option.id for option in screen.query_one(ResumeList).options]
        await pilot.press(*["down"] * rows.index("shows"), "enter")
        await until_shown(pilot, "Where the complaint shows: only in the installed system")
        assert screen.told.shows == WhereShown.INSIDE
        await pilot.press("down", "enter")
        await until(pilot, PickScreen)
        assert_holds(app)
        await pilot.press("enter", "d")
        await until(pilot, ResumeScreen)
        assert len(screen.told.reseated) == 1
        assert_holds(app)
        await pilot.press("n")
        await until(pilot, StartScreen)
        await pilot.press("o")
        await until(pilot, OptionsScreen)
        await pilot.press("enter")
        assert_holds(app)
        await pilot.press("down", "enter")
        await until(pilot, PickScreen)
        assert_holds(app)
        await pilot.press("d", "d")
        await until_shown(pilot, "depth full")


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_the_worksheet(size: tuple[int, int], tmp_path: Path) -> None:
    """A machine without power: every step of the sheet, to its verdict."""
    app = Console(shop=tmp_path)
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        await pilot.press("home", "enter")
        await until(pilot, WorksheetScreen)
        await until_shown(pilot, "round (or square), or USB-C?")
        await pilot.press(*"usb-c", "enter")
        await pilot.press(*"5V 3A, 20V 3.25A", "enter")
        lamp, first = worksheet.steps(Complaint.NO_POWER, knowledge.worksheet())[:2]
        await until_shown(pilot, lamp.title)
        await pilot.press("enter", *"5,1", "enter")
        await until_shown(pilot, f"{first.title}: 5.1 V")
        await pilot.press("up")
        await until_shown(pilot, f"in {first.unit}")
        assert app.screen.query_one(Input).value == "5,1"
        for _ in range(40):
            await pilot.pause(0.05)
            if not isinstance(app.screen, WorksheetScreen):
                break
            assert_holds(app)
            await pilot.press("enter")
        await until(pilot, VerdictScreen)
        assert_holds(app)


@pytest.mark.slow
async def test_a_worksheet_goes_on_by_its_ticket(tmp_path: Path) -> None:
    """The shop's own computer is not taken for the machine: measuring again stands first."""
    app = Console(shop=tmp_path)
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        await pilot.press("t", *"N-1", "enter", "home", "enter")
        await until(pilot, WorksheetScreen)
        await pilot.press("f6")
        await until(pilot, VerdictScreen)
        await pilot.press("r")
        await until(pilot, ResumeScreen)
        await until_shown(pilot, "what machine it is was not read")
        assert_holds(app)
        await pilot.press("enter")
        await until(pilot, WorksheetScreen)
        await pilot.press("f6")
        await until(pilot, VerdictScreen)
    runs = list(tmp_path.glob("livecheck-cases/*/runs/*/run.json"))
    assert len(runs) == 2


async def test_trouble_is_told_in_place(tmp_path: Path) -> None:
    """No shop drive: the message stays on screen, the app stays alive."""
    app = Console(shop=tmp_path / "gone")
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        await until_shown(pilot, "mount the shop drive")
        assert "TROUBLE" in " ".join(shown(app))
        assert_holds(app)


async def test_an_answer_that_comes_late_breaks_nothing(tmp_path: Path) -> None:
    """The console is being left while the machine is still looked at: its line is gone."""
    app = Console(shop=tmp_path)
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        screen = app.screen
        assert isinstance(screen, StartScreen)
        await screen.query("#start").remove()
        screen.trouble("too late")
        assert not screen.query("#machine")


@pytest.mark.parametrize("size", SIZES)
async def test_an_alarm_stands_on_every_screen(size: tuple[int, int], tmp_path: Path) -> None:
    """A long one wraps; it goes when it is over."""
    app = Console(shop=tmp_path)
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        app.say_alarm("test", "\x1b[2JSomething [bold]is wrong " * 6)
        await pilot.press("f1")
        await until(pilot, HelpScreen)
        await until_shown(pilot, "[U+001B][2JSomething [bold]is wrong")
        assert_holds(app)
        app.say_alarm("test", None)
        await pilot.pause()
        assert "Something" not in " ".join(shown(app))
