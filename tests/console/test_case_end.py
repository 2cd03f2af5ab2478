"""The end of a case by keyboard: a step ruled out, the hand-over, what the repair proved."""

from __future__ import annotations

import asyncio
import json
import re
from pathlib import Path

import pytest

from livecheck import cli, demo
from livecheck.chances import percent
from livecheck.console.app import Console
from livecheck.console.screens.evidence import EvidenceScreen
from livecheck.console.screens.guided import GuidedScreen
from livecheck.console.screens.pick import ChooseScreen, PickScreen
from livecheck.console.screens.resume import ResumeScreen
from livecheck.console.screens.step import StepScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.console.screens.words import WordsScreen
from livecheck.console.text_list import TextList
from livecheck.console.workflows.tasks import MORE
from tests.console.console_limits import SIZES, assert_holds, shown, until, until_shown

FOLDER = Path(demo.__file__).parent


def _replay(shop: Path, name: str) -> Path:
    source = FOLDER / f"{name}.capture.gz"
    words = ["run", "--from", str(source), "--ticket", "77", "--complaint", "slow"]
    assert cli.main([*words, "--shop", str(shop)]) == 0
    return source


def _case(shop: Path) -> dict[str, object]:
    (file,) = shop.glob("livecheck-cases/*/case.json")
    case: dict[str, object] = json.loads(file.read_bytes())
    return case


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_hand_over_and_outcome(size: tuple[int, int], tmp_path: Path) -> None:
    """A replaced drive: signed off with its reasons at one key; then proved, and closed."""
    _replay(tmp_path, "drive-1")
    source = _replay(tmp_path, "drive-2")
    app = Console(shop=tmp_path, source=source)
    async with app.run_test(size=size) as pilot:
        await until(pilot, ResumeScreen)
        await pilot.press("v")
        await until(pilot, VerdictScreen)
        for words in ("The repair is proven", "Restore the customer's data", "Hand-over check"):
            await until_shown(pilot, words)
        await pilot.press("g")
        await until(pilot, GuidedScreen)
        assert_holds(app)
        await pilot.press("d")
        await until_shown(pilot, "How long shall")
        assert_holds(app)
        await pilot.press("enter")
        await until(pilot, VerdictScreen)
        await until_shown(pilot, "Ready to be given back")
        assert_holds(app)
        await pilot.press("e")
        await until(pilot, EvidenceScreen)
        await until_shown(pilot, "REPLACED")
        assert_holds(app)
        await pilot.press("escape", "g")
        await until(pilot, ChooseScreen)
        await until_shown(pilot, "What was mended or replaced?")
        assert_holds(app)
        await pilot.press("enter")
        await until_shown(pilot, "What did it prove?")
        assert_holds(app)
        await pilot.press("enter")
        for _ in range(200):
            await pilot.pause(0.05)
            if _case(tmp_path)["closed"]:
                break
    assert _case(tmp_path)["closed"]


@pytest.mark.parametrize("size", SIZES)
async def test_a_step_that_cannot_be_done_here(size: tuple[int, int], tmp_path: Path) -> None:
    """I rules it out: another one is proposed at once, and the case remembers."""
    source = _replay(tmp_path, demo.stories()[0].runs[0].capture.removesuffix(".capture.gz"))
    app = Console(shop=tmp_path, source=source)
    async with app.run_test(size=size) as pilot:
        await until(pilot, ResumeScreen)
        await pilot.press("v")
        await until(pilot, VerdictScreen)
        assert isinstance(app.screen, VerdictScreen)
        before = app.screen.case.location.next_step
        await pilot.press("n")
        await until(pilot, StepScreen)
        await pilot.press("i")
        await until(pilot, VerdictScreen)
        assert isinstance(app.screen, VerdictScreen)
        after = app.screen.case.location.next_step
        assert before is not None
        assert after is not None
        assert (before.action, before.target) != (after.action, after.target)
        assert app.screen.query_one(TextList).option_count
        assert_holds(app)
    assert _case(tmp_path)["cannot"]


async def test_what_the_customer_declined_is_told_before_the_hand_over(tmp_path: Path) -> None:
    """Ticked, with his words: the machine goes back with it, and the words stand there."""
    source = _replay(tmp_path, "drive-1")
    app = Console(shop=tmp_path, source=source)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, ResumeScreen)
        await pilot.press("v")
        await until(pilot, VerdictScreen)
        await pilot.press("m")
        await until_shown(pilot, "Hand-over: the last run")
        await pilot.press(*["down"] * len(MORE), "enter")
        await until(pilot, PickScreen)
        await until_shown(pilot, "Does anything go back as it is?")
        count = app.screen.query_one(TextList).option_count
        assert_holds(app)
        await pilot.press(*["enter", "down"] * count, "d")
        for _ in range(count):
            await until(pilot, WordsScreen)
            assert_holds(app)
            await pilot.press(*"too dear", "enter")
            await pilot.pause(0.1)
        await until(pilot, GuidedScreen)
        await pilot.press("d")
        await until_shown(pilot, "How long shall")
        await pilot.press("enter")
        await until_shown(pilot, "Ready to be given back")
        assert_holds(app)


@pytest.mark.parametrize("name", ["drive-1", "port-1", "contact-1"])
async def test_ten_lines_tell_what_to_do(name: str, tmp_path: Path) -> None:
    """At 80x25: verdict, unit, likelihood, next step, its minutes and what to heed."""
    source = _replay(tmp_path, name)
    app = Console(shop=tmp_path, source=source)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, ResumeScreen)
        await pilot.press("v")
        await until(pilot, VerdictScreen)
        await until_shown(pilot, "NEXT STEP")
        top = " ".join(shown(app)[:10])
        state = "at fault" if name == "drive-1" else "Not settled yet"
        for words in (state, "NEXT STEP", "CAUTION: "):
            assert words in top
        assert re.search(r"\(\d+\smin\)", top)
        assert isinstance(app.screen, VerdictScreen)
        if app.screen.case.location.component is not None:
            assert percent(app.screen.case.location.probability) in top


async def test_what_was_proposed_may_come_while_the_screen_is_drawn(tmp_path: Path) -> None:
    """Between any two of its lines: on a slow machine judging is done before drawing is."""
    source = _replay(tmp_path, "drive-1")
    app = Console(shop=tmp_path, source=source)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, ResumeScreen)
        await until_shown(pilot, "Proposed was")
        assert app.looked is not None
        assert app.looked.known is not None
        assert app.proposed is not None
        screen = ResumeScreen(app.looked, app.looked.known, None)
        app.push_screen(screen)
        for _ in range(200):
            screen.show_proposed(app.proposed)
            await asyncio.sleep(0)
        await until_shown(pilot, "Proposed was")
        assert app.screen is screen
