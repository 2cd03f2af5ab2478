"""What the technician answers at the next boot stands in the run's record, in the same case."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from livecheck.casefile import CaseFolder
from livecheck.console.app import Console
from livecheck.console.screens.pick import PickScreen
from livecheck.console.screens.resume import ResumeList, ResumeScreen
from livecheck.console.screens.start import StartScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.records import (
    Case,
    CleanedPart,
    ComplaintShows,
    HowEnded,
    LastStartEnded,
    Outcome,
    Run,
    WhereShown,
)
from tests.console.console_limits import assert_holds, capture_of, until, until_shown
from tests.console.test_case_end import FOLDER, _replay

pytestmark = pytest.mark.slow


def _saved(shop: Path) -> tuple[Case, tuple[Run, ...]]:
    (folder,) = (p.parent for p in shop.glob("livecheck-cases/*/case.json"))
    loaded = CaseFolder(folder).load()
    return loaded.case, loaded.runs


async def test_answers_reach_the_record(tmp_path: Path) -> None:
    """A swap is found by itself; reseated, known-good, cleaned and no spare are told."""
    _replay(tmp_path, "drive-1")
    app = Console(shop=tmp_path, source=FOLDER / "drive-2.capture.gz")
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, ResumeScreen)
        await until_shown(pilot, "Changed since the last run:")
        assert_holds(app)
        screen = app.screen
        assert isinstance(screen, ResumeScreen)
        rows = [option.id for option in screen.query_one(ResumeList).options]
        for key in ("reseated", "known_good", "treated", "cannot"):
            await pilot.press("home", *["down"] * rows.index(key), "enter")
            await until(pilot, PickScreen)
            await pilot.press("enter", "d")
            await until(pilot, ResumeScreen)
        await pilot.press("home", "enter")
        await until(pilot, VerdictScreen)
    case, runs = _saved(tmp_path)
    assert [run.number for run in runs] == [1, 2]
    assert len(runs[1].reseated) == 1
    assert runs[1].reseated[0] in {p.place for p in runs[1].inventory.parts}
    assert len(runs[1].known_good) == 1
    assert runs[1].known_good[0] in {p.identity for p in runs[1].inventory.parts}
    assert [type(answer) for answer in runs[1].answers] == [CleanedPart]
    assert len(case.cannot) == 1
    assert case.spares == runs[1].known_good


async def test_a_start_that_was_cut_off_is_asked_about(tmp_path: Path) -> None:
    """Enter goes through the answers; the one left stands in the record."""
    _replay(tmp_path, "drive-1")
    (path,) = (p.parent for p in tmp_path.glob("livecheck-cases/*/case.json"))
    folder = CaseFolder(path)
    (first,) = folder.load().runs
    folder.save_run(msgspec.structs.replace(first, finished=False))
    app = Console(shop=tmp_path, source=FOLDER / "drive-2.capture.gz")
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, ResumeScreen)
        await until_shown(pilot, "How the last start ended: not known")
        screen = app.screen
        assert isinstance(screen, ResumeScreen)
        rows = [option.id for option in screen.query_one(ResumeList).options]
        await pilot.press("home", *["down"] * rows.index("ended"), "enter")
        await until_shown(pilot, "by itself, nobody touched it")
        await pilot.press("home", *["down"] * rows.index("shows"), "enter", "enter")
        await until_shown(pilot, "Where the complaint shows: outside it too")
        assert_holds(app)
        await pilot.press("home", "enter")
        await until(pilot, VerdictScreen)
    _, runs = _saved(tmp_path)
    ended = LastStartEnded(how=HowEnded.BY_ITSELF)
    assert runs[1].answers == (ended, ComplaintShows(where=WhereShown.OUTSIDE))
    seen = {r.check: r.outcome for r in runs[1].readings if r.check.startswith("complaint.")}
    assert seen == {"complaint.outside": Outcome.FAILED}


async def test_a_part_in_another_machine(tmp_path: Path) -> None:
    """The ticket finds the case on a board that is not its own; it is said, and asked."""
    source = _replay(tmp_path, "drive-1")
    other = capture_of(0, 0, tmp_path)
    assert other.read_bytes() != source.read_bytes()
    app = Console(shop=tmp_path, source=other)
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        await until(pilot, StartScreen)
        await pilot.press("t", "7", "7", "enter")
        await until(pilot, ResumeScreen)
        await until_shown(pilot, "NOT the one this case was opened with")
        assert_holds(app)
        screen = app.screen
        assert isinstance(screen, ResumeScreen)
        rows = [option.id for option in screen.query_one(ResumeList).options]
        await pilot.press("home", *["down"] * rows.index("elsewhere"), "enter")
        await until_shown(pilot, "[x] This is a known-good machine")
        await pilot.press("s")
        await until(pilot, VerdictScreen)
    _, runs = _saved(tmp_path)
    assert [run.in_known_good_machine for run in runs] == [False, True]


async def test_space_ticks_a_line_and_starts_nothing(tmp_path: Path) -> None:
    """A line with a tick before it is ticked as in every other list."""
    source = _replay(tmp_path, "contact-1")
    app = Console(shop=tmp_path, source=source)
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "So far:")
        await pilot.press("space")
        await pilot.pause(0.3)
        assert isinstance(app.screen, ResumeScreen)
        rows = [option.id for option in app.screen.query_one(ResumeList).options]
        await pilot.press(*["down"] * rows.index("elsewhere"), "space")
        await until_shown(pilot, "[x] This is a known-good machine", 5)
