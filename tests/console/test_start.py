"""The first screen: what is shown at the bottom works at once, and no key is typed by mistake."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from livecheck.console import app as console
from livecheck.console import waiting
from livecheck.console.app import Console
from livecheck.console.frame import KeyLine, TitleLine
from livecheck.console.screens.cases import CasesScreen
from livecheck.console.screens.help import HelpScreen
from livecheck.console.screens.options import OptionsScreen
from livecheck.console.screens.pick import ChooseScreen, ConfirmScreen
from livecheck.console.screens.resume import ResumeScreen
from livecheck.console.screens.start import ComplaintList, StartScreen, TicketField
from livecheck.console.screens.verdict import VerdictScreen
from tests.console.console_limits import SIZES, assert_holds, capture_of, until, until_shown
from tests.console.test_case_end import _replay


def _keys(pilot: Pilot[int]) -> str:
    return "  ".join(pilot.app.screen.query_one(KeyLine).entries)


def _ticket(app: Console) -> str:
    return app.start.query_one(TicketField).value


@pytest.mark.parametrize(
    ("key", "kind"),
    [("o", OptionsScreen), ("c", CasesScreen), ("m", ChooseScreen), ("p", ConfirmScreen),
     ("h", HelpScreen)],
)  # fmt: skip
async def test_every_letter_shown_works_at_once(tmp_path: Path, key: str, kind: type) -> None:
    """Pressed as the very first key, it opens its screen and does not become the ticket."""
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        assert isinstance(app.focused, ComplaintList)
        assert f"{key.upper()}/F" in _keys(pilot)
        await pilot.press(key)
        await until(pilot, kind)
        assert _ticket(app) == ""


async def test_the_first_screen_does_not_wait_for_the_shop_drive(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It stands, says what is waited for, and looks at the machine once that is there."""
    looked = tmp_path / "looked"
    monkeypatch.setenv(waiting.WAIT_FOR, str(looked))
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Waiting for the stick to answer")
        assert isinstance(app.screen, StartScreen) and app.looked is None
        assert_holds(app)
        looked.write_text("looked\n")
        await until_shown(pilot, "Cases are kept in")
        assert app.alarm is None


@pytest.mark.parametrize("size", SIZES)
async def test_whether_the_stick_may_be_pulled_stands_on_every_screen(
    size: tuple[int, int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a word beside the title, and with the reason on the first screen."""
    state = tmp_path / "stick"
    monkeypatch.setattr(console, "STICK_STATE", str(state))
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=size) as pilot:
        await until_shown(pilot, "Cases are kept in")
        state.write_text("The stick must stay in: there is too little memory.\n")
        app.watch_shop()
        await until_shown(pilot, "there is too little memory")
        await pilot.press("h")
        await until(pilot, HelpScreen)
        title = app.screen.query_one(TitleLine).render().plain
        assert title.startswith("livecheck : ") and title.endswith("The stick must stay in")
        state.write_text("The stick may be pulled: the system runs from memory.\n")
        app.watch_shop()
        await until_shown(pilot, "The stick may be pulled")
        assert_holds(app)


async def test_keys_shown_while_typing_are_keys_that_work_then(tmp_path: Path) -> None:
    """Letters go into the field, so only the others are shown; an arrow leaves the field."""
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        for leave in ("down", "up", "enter"):
            await pilot.press("t")
            assert isinstance(app.focused, TicketField)
            await pilot.pause()
            shown = _keys(pilot)
            assert "F2 Cases" in shown
            assert "C/F2" not in shown
            assert_holds(app)
            await pilot.press("h", leave)
            assert isinstance(app.focused, ComplaintList)
            await pilot.pause()
            assert "C/F2 Cases" in _keys(pilot)
        assert _ticket(app) == "h"
        await pilot.press("home", "up")
        assert isinstance(app.focused, TicketField)


@pytest.mark.slow
async def test_a_ticket_left_by_an_arrow_finds_its_case(tmp_path: Path) -> None:
    """As Enter does: the case of that ticket goes on."""
    _replay(tmp_path, "drive-1")
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        await pilot.press("t", "7", "7", "down")
        await until(pilot, ResumeScreen)


@pytest.mark.parametrize("ticket", ["", "77"])
async def test_a_hasty_enter_does_not_pass_by_the_case(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ticket: str
) -> None:
    """Pressed before the machine was looked at: what changed since is asked before the run."""
    source = _replay(tmp_path, "drive-1")
    looked = tmp_path / "looked"
    monkeypatch.setenv(waiting.WAIT_FOR, str(looked))
    app = Console(shop=tmp_path, source=source)
    async with app.run_test(size=(80, 25)) as pilot:
        typed = ("t", *ticket, "enter") if ticket else ()
        await pilot.press(*typed, "up", "enter")
        looked.write_text("looked\n")
        await until(pilot, ResumeScreen)
        await until_shown(pilot, "Known here")
    assert len(list(tmp_path.glob("livecheck-cases/*/runs/*/run.json"))) == 1


async def test_another_job_on_the_same_machine_is_asked_once(tmp_path: Path) -> None:
    source = _replay(tmp_path, "drive-1")
    app = Console(shop=tmp_path, source=source)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, ResumeScreen)
        await pilot.press("n")
        await until(pilot, StartScreen)
        await pilot.press("enter")
        await until(pilot, VerdictScreen)
    assert len(list(tmp_path.glob("livecheck-cases/*/case.json"))) == 2
