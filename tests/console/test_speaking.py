"""A shop that reads another language: its console turns to it, from start to verdict."""

from __future__ import annotations

import runpy
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest

from livecheck import cli, knowledge, languages, wording
from livecheck.console import app as console
from livecheck.console.app import Console
from livecheck.console.screens.start import ComplaintList, StartScreen, TicketField
from livecheck.console.screens.step import StepScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.console.screens.worksheet import WorksheetScreen
from livecheck.diagnosis.worksheet_table import Filled
from livecheck.records import Complaint
from livecheck.worded import worded
from livecheck.worded_forms import worded_sheet
from tests.console.console_limits import assert_holds, capture_of, shown, until, until_shown
from tests.console.spoken_screens import Bench

MOVER: Final = "image-build/overlay/usr/lib/livecheck/system_to_memory.py"


@pytest.fixture(autouse=True)
def _english_again() -> Iterator[None]:
    yield
    languages.adopt(languages.ENGLISH)


def _shop(folder: Path, language: str) -> Path:
    (folder / "shop.toml").write_text(f'[shop]\nname = "A"\nlanguage = "{language}"\n', "utf-8")
    return folder


@pytest.mark.parametrize(
    ("language", "stays", "may"),
    [
        ("de", "Der Stick muss stecken bleiben", "Der Stick darf gezogen werden"),
        ("es", "La memoria USB debe quedarse puesta", "La memoria USB se puede sacar"),
    ],
)
async def test_whether_the_stick_may_be_pulled_is_said_in_the_language(
    language: str, stays: str, may: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the stick's own service writes, by its own words (system_to_memory.py)."""
    state = tmp_path / "stick"
    monkeypatch.setattr(console, "STICK_STATE", str(state))
    app = Console(shop=_shop(tmp_path, language), source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, wording.catalogue(language)["complaint.slow"])
        mover = runpy.run_path(str(Path(__file__).parents[2] / MOVER))
        little = mover["why_not"](400 << 20, "MemTotal: 1000000 kB\nMemAvailable: 9 kB\n")
        for says, seen in (
            (mover["COPYING"], stays),
            (mover["STAYS"].format(why=little), stays),
            (mover["FREE"], may),
        ):
            state.write_text(f"{says}\n")
            app.watch_shop()
            await until_shown(pilot, f"{seen}: ")
            assert "The stick" not in " ".join(shown(app))
            assert_holds(app)


@pytest.mark.parametrize(
    ("language", "seen", "step"),
    [
        ("de", "Fälle liegen in", "NÄCHSTER SCHRITT"),
        ("es", "Los casos se guardan", "PASO SIGUIENTE"),
    ],
)
async def test_the_shops_file_says_what_the_console_is_in(
    language: str, seen: str, step: str, tmp_path: Path
) -> None:
    """What was typed and chosen before the drive was read stays; the records are English."""
    shop = _shop(tmp_path, language)
    app = Console(shop=shop, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        app.start.query_one(TicketField).value = "T-9"
        app.start.query_one(ComplaintList).highlighted = list(Complaint).index(Complaint.UNSTABLE)
        await until_shown(pilot, seen)
        assert_holds(app)
        assert languages.spoken() == language
        assert app.start.ticket == "T-9" and app.start.complaint is Complaint.UNSTABLE
        assert isinstance(app.focused, ComplaintList)
        await pilot.press("enter")
        await until(pilot, VerdictScreen)
        await until_shown(pilot, step)
        assert_holds(app)
        await pilot.press("n")
        await until(pilot, StepScreen)
        assert_holds(app)
    languages.adopt(languages.ENGLISH)
    report = next(shop.glob("livecheck-cases/*/report.html")).read_text("utf-8")
    own = wording.catalogue(language)
    assert own["verdict.means"] in report
    record = next(shop.glob("livecheck-cases/*/runs/0001/run.json")).read_text("utf-8")
    for key in ("kind.sata-port", "names.mainboard", "say.why.reseat"):
        assert own[key].partition("{")[0] not in record


async def test_what_is_asked_for_at_the_start_goes_before_the_shops_file(tmp_path: Path) -> None:
    app = Console(shop=_shop(tmp_path, "es"), source=capture_of(0, 0, tmp_path), language="de")
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Was stimmt nicht damit?")
        await until_shown(pilot, "Fälle liegen in")
        assert languages.spoken() == "de"


async def test_without_a_word_the_console_is_english(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever the environment says: a stick's system has a language that nobody chose."""
    monkeypatch.setenv("LANG", "de_DE.UTF-8")
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        await until_shown(pilot, "What is wrong with it?")


def test_a_command_does_not_pass_over_a_language(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--language", "de", "checks"]) == 0
    assert "Antwortet das Laufwerk an seinem Bus" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("language", "typed"),
    [("en", ("round", "19.5 V 3.33 A", "st")), ("de", ("ru", "19,5 V 3,33 A", "bleibt")),
     ("es", ("red", "19,5 V 3,33 A", "sig"))],
)  # fmt: skip
async def test_what_is_measured_is_saved_as_the_tables_have_it(
    language: str, typed: tuple[str, ...]
) -> None:
    """The first letters of an answer as it is read are enough; the record has the table's word."""
    given: list[Filled | None] = []
    with languages.speaking(language):
        sheet = worded_sheet(knowledge.worksheet())
        app = Bench()
        async with app.run_test(size=(80, 25)) as pilot:
            screen = WorksheetScreen(Complaint.NO_POWER, sheet, worded(knowledge.load()))
            await app.push_screen(screen, given.append)
            for words in typed:
                await until(pilot, WorksheetScreen)
                await pilot.press(*["space" if c == " " else c for c in words], "enter")
            await pilot.press("f6")
            await pilot.pause()
    assert given[0] is not None
    assert given[0].supply == "barrel"
    assert given[0].label is not None and given[0].label.volts == 19.5
    assert given[0].answers == {"adapter-lamp": "stays lit"}
