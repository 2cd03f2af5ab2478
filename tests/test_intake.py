"""The intake sheet: filled in half a minute, kept in the case, found again, printed."""

from __future__ import annotations

import json
from pathlib import Path

import msgspec
import pytest

from livecheck import cli, demo, knowledge
from livecheck.console.app import Console
from livecheck.console.screens.intake import IntakeScreen
from livecheck.console.screens.pick import ChooseScreen
from livecheck.console.screens.resume import ResumeScreen
from livecheck.console.screens.start import StartScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.console.screens.words import WordsScreen
from livecheck.diagnosis.handover import HandOver
from livecheck.intake import NOTE, in_words, with_told, would_show
from livecheck.records import ToldLine
from livecheck.signing import soak
from tests import factories
from tests.console.console_limits import SIZES, assert_holds, until, until_shown

CAPTURE = Path(demo.__file__).parent / "drive-1.capture.gz"
WEEKS, A_FALL = ToldLine(about="since", words="weeks"), ToldLine(about="after", words="a fall")


def _run(shop: Path, *more: str) -> Path:
    words = ["run", "--from", str(CAPTURE), "--complaint", "slow", "--shop", str(shop)]
    assert cli.main([*words, *more]) == 0
    (case,) = shop.glob("livecheck-cases/*/case.json")
    return case.parent


def _told(case: Path) -> list[dict[str, str]]:
    told: list[dict[str, str]] = json.loads((case / "case.json").read_bytes()).get("told", [])
    return told


def test_a_row_holds_the_last_words_and_notes_stand_beside_each_other() -> None:
    note, other = ToldLine(about=NOTE, words="rang twice"), ToldLine(about=NOTE, words="comes at 5")
    months = ToldLine(about="since", words="months")
    assert with_told((WEEKS, note), (months, other)) == (months, note, other)
    assert with_told((WEEKS,), (ToldLine(about="since", words=""),)) == ()


def test_the_lines_stand_in_the_order_of_the_sheet() -> None:
    sheet = knowledge.load().intake
    told = in_words((ToldLine(about=NOTE, words="x"), A_FALL, WEEKS), sheet)
    assert [words for _, words in told] == ["weeks", "a fall", "x"]


def test_what_was_told_is_kept_printed_and_found(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = _run(tmp_path, "--told", "since=weeks", "--told", "words=freezes <b>often</b>")
    assert cli.main(["note", str(case), "Lid scratched on arrival"]) == 0
    assert [line["about"] for line in _told(case)] == ["since", "words", "note"]
    page = (case / "report.html").read_text("utf-8")
    assert "freezes &lt;b&gt;often&lt;/b&gt;" in page
    assert "Lid scratched on arrival" in page
    for words in ("scratched", "often"):
        capsys.readouterr()
        assert cli.main(["cases", "--find", words, "--shop", str(tmp_path)]) == 0
        assert case.name in capsys.readouterr().out


@pytest.mark.parametrize("words", ["since", "sinse=weeks"])
def test_a_row_that_is_none_is_refused(
    words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = _run(tmp_path)
    assert cli.main(["note", str(case), "--told", words]) == 2
    assert "since" in capsys.readouterr().err
    assert _told(case) == []


@pytest.mark.parametrize("size", SIZES)
async def test_by_keyboard_before_there_is_a_case(size: tuple[int, int], tmp_path: Path) -> None:
    """Words, a choice, a note; the run that follows brings them into its case."""
    app = Console(shop=tmp_path, source=CAPTURE)
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        await until_shown(pilot, "Cases are kept")
        await pilot.press("i")
        await until(pilot, IntakeScreen)
        assert_holds(app)
        await pilot.press("enter")
        await until(pilot, WordsScreen)
        await pilot.press(*"slow", "enter")
        await until(pilot, IntakeScreen)
        await pilot.press("down", "down", "enter")
        await until(pilot, ChooseScreen)
        assert_holds(app)
        await pilot.press("down", "enter")
        await until(pilot, IntakeScreen)
        await pilot.press("end", "enter")
        await until(pilot, WordsScreen)
        await pilot.press(*"hum", "enter")
        await until(pilot, IntakeScreen)
        await until_shown(pilot, "Since when: days")
        assert_holds(app)
        await pilot.press("d")
        await until(pilot, StartScreen)
        await until_shown(pilot, "Intake sheet: 3 lines")
        assert_holds(app)
        assert [line.words for line in app.state.told] == ["slow", "days", "hum"]
        assert app.told == app.state.told


async def test_by_keyboard_in_a_case(tmp_path: Path) -> None:
    """What stands there is shown, changed and kept at once; U takes back what was ruled out."""
    case = _run(tmp_path, "--told", "since=weeks", "--cannot", "no spare: drive")
    app = Console(shop=tmp_path, source=CAPTURE)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, ResumeScreen)
        await pilot.press("v")
        await until(pilot, VerdictScreen)
        lines = [row.text for row in app.screen._rows]  # type: ignore[attr-defined]
        assert "Since when: weeks" in lines
        assert "Ruled out at this bench: no spare: drive (U takes it back)" in lines
        await pilot.press("m")
        await until(pilot, ChooseScreen)
        await pilot.press(*["down"] * 3, "enter")
        await until(pilot, IntakeScreen)
        await until_shown(pilot, "Since when: weeks")
        await pilot.press("end", "enter")
        await until(pilot, WordsScreen)
        await pilot.press(*"hum", "enter")
        await until(pilot, IntakeScreen)
        await pilot.press("d")
        await until(pilot, VerdictScreen)
        assert _told(case)[-1]["words"] == "hum"
        await pilot.press("u")
        await pilot.pause(0.5)
        for _ in range(100):
            if not json.loads((case / "case.json").read_bytes()).get("cannot"):
                break
            await pilot.pause(0.05)
    assert not json.loads((case / "case.json").read_bytes()).get("cannot")


@pytest.mark.parametrize(
    ("often", "hours", "share"),
    [("once a day", 8.0, 0.632), ("several times a day", 1.0, 0.393), ("always", 0.5, 1.0),
     ("once", 8.0, None), ("when it rains", 8.0, None)],
)  # fmt: skip
def test_how_long_a_soak_has_to_be(often: str, hours: float, share: float | None) -> None:
    """Poisson: after one mean time between two events, 1 - 1/e has shown at least one."""
    row = knowledge.load().intake["often"]
    found = would_show((ToldLine(about="often", words=often),), row, hours)
    assert found == (None if share is None else pytest.approx(share, abs=0.001))
    assert would_show((), row, hours) is None


def test_the_sign_off_says_whether_the_soak_was_long_enough() -> None:
    tables = knowledge.load()
    case = factories.port_and_battery().case
    told = msgspec.structs.replace(case, told=(ToldLine(about="often", words="once a day"),))
    held = HandOver(first=1, last=2, rows=(), lent=(), left_out=(), ended=None, soak_hours=8.0,
                    soaked="Endured 8 h of load.", missed=())  # fmt: skip
    said = "Endured 8 h of load. A fault as frequent as told would have shown in this time with 63"
    assert soak(held, told, tables).startswith(said)
    assert soak(held, case, tables) == "Endured 8 h of load."
    none = msgspec.structs.replace(held, soak_hours=0.0, soaked=None)
    assert soak(none, told, tables) == "There was no soak under load."
