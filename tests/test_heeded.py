"""What was told at the counter is heeded to the end, so that nobody has to remember it.

What a technician would want of each line is common practice, no source: opened before powered
after a liquid, no restore of what nobody wants, nothing of the customer's left on the bench.
"""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest

from livecheck import cli, demo, knowledge, prompts
from livecheck.console.app import Console
from livecheck.console.screens.intake import IntakeScreen
from livecheck.console.screens.pick import ChooseScreen
from livecheck.console.screens.resume import ResumeList, ResumeScreen
from livecheck.console.screens.start import StartScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.intake import cautions, opens
from livecheck.records import Complaint, LookedInside, ToldLine
from tests.bench_stories.keyed import counter
from tests.bench_stories.keys import KeyPlayer, Played, Visit
from tests.console.console_limits import assert_holds, until, until_shown
from tests.console.test_resume import _saved
from tests.report.pages import Page

FOLDER = Path(demo.__file__).parent
SHEET = knowledge.load().intake


def _run(shop: Path, capture: str, *more: str) -> Path:
    words = ["run", "--from", str(FOLDER / f"{capture}.capture.gz"), "--ticket", "7"]
    assert cli.main([*words, "--complaint", "part-missing", "--shop", str(shop), *more]) == 0
    (case,) = shop.glob("livecheck-cases/*/case.json")
    return case.parent


def _next(printed: str) -> str:
    return next(line for line in printed.splitlines() if line.startswith("Next: "))


@pytest.mark.parametrize(
    ("about", "words", "opened", "heeded"),
    [
        ("after", "a liquid", True, ("wet",)),
        ("after", "coffee spilled over the keyboard", True, ("wet",)),
        ("after", "dropped down the stairs", True, ()),
        ("after", "a fall", True, ()),
        ("after", "an update", False, ()),
        ("after", "a sweet deal", False, ()),
        ("marks", "smells burnt", True, ("burnt",)),
        ("marks", "bulging battery: switch off, do not charge", True, ("cell",)),
        ("marks", "noises", False, ()),
        ("marks", "none", False, ()),
        ("words", "I never spilled anything", False, ()),
        ("note", "liquid", False, ()),
    ],
)
def test_what_opens_the_cover_and_what_is_warned_of(
    about: str, words: str, opened: bool, heeded: tuple[str, ...]
) -> None:
    told = (ToldLine(about=about, words=words),)
    assert opens(told, SHEET) == opened
    assert cautions(told, SHEET) == heeded
    assert set(heeded) <= set(knowledge.load().cautions)


@pytest.mark.parametrize(
    ("remark", "opened"),
    [
        ("fell off the bench", True),
        ("liquid below the keyboard", True),
        ("was opened before", True),
        ("it is a waterproof one", False),
        ("no liquid, and it never fell", False),
        ("Dropbox is full", False),
    ],
)
def test_what_is_remarked_at_a_run_is_read_as_the_intake_sheet_is(
    remark: str, opened: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _run(tmp_path, "contact-1", "--answer", f"machine={remark}")
    assert _next(capsys.readouterr().out).startswith("Next: inspect inside") == opened


def test_a_machine_that_was_wet_is_opened_before_anything_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The step, the warning and how the next run is told of it; once, and not for ever."""
    case = _run(tmp_path, "contact-1", "--told", "after=a liquid")
    said = capsys.readouterr().out
    assert _next(said).startswith("Next: inspect inside")
    assert said.index("CAUTION: Liquid was in it") < said.index("Next: ")
    assert "Liquid was in it" in (case / "report.html").read_text("utf-8")
    (told,) = re.findall(r"Once done, the next run is told with: --answer '(.*)'", said)
    _run(tmp_path, "contact-1", "--answer", told)
    said = capsys.readouterr().out
    assert _next(said).startswith("Next: reseat")
    assert "Liquid was in it" not in said


def test_data_at_risk_are_told_whatever_step_is_next(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A drive that loses data and a fall: opened first, the data before it; unless unwanted."""
    for number, (data, wanted) in enumerate((("wanted, no copy", True), ("not wanted", False))):
        shop = tmp_path / str(number)
        shop.mkdir()
        _run(shop, "drive-1", "--told", "after=a fall", "--told", f"data={data}")
        said = capsys.readouterr().out
        assert _next(said).startswith("Next: inspect inside")
        assert ("CAUTION: The customer's data" in said) == wanted


def test_what_was_told_is_told_back_at_the_end(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Password and unwanted data once the repair is proven, what was handed in at the sign-off."""
    told = ("--told", "data=not wanted", "--told", "password=told, on the ticket",
            "--told", "handed=adapter and bag")  # fmt: skip
    _run(tmp_path, "drive-1", *told)
    capsys.readouterr()
    case = _run(tmp_path, "drive-2")
    said = capsys.readouterr().out
    assert "Password: told, on the ticket" in said
    assert "Restore the customer's data" not in said
    source = str(FOLDER / "drive-2.capture.gz")
    assert cli.main(["hand-over", str(case), "--from", source, "--no-guided",
                     "--stays", "serial:OSN256BENCH1"]) == 0  # fmt: skip
    assert "Give back with it: adapter and bag." in capsys.readouterr().out
    page = (case / "report.html").read_text("utf-8")
    assert "adapter and bag" in Page(page).text("sign-off")


def test_a_drive_that_goes_back_as_it_is_warns_its_owner_on_the_page_he_signs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Declined, handed over, closed: nothing is recorded as proved, and no prior is moved."""
    case = _run(tmp_path, "drive-1")
    source = str(FOLDER / "drive-1.capture.gz")
    declined = "drive:OSN512K7731=too dear"
    assert cli.main(["hand-over", str(case), "--from", source, "--declined", declined]) == 0
    said = capsys.readouterr().out
    assert "Close the case" in said and "what the repair proved" not in said
    page = Page((case / "report.html").read_text("utf-8"))
    assert "They are at risk" in page.text("sign-off")
    assert cli.main(["outcome", str(case), "--not-mended", "--unit", "drive"]) == 2
    assert cli.main(["outcome", str(case), "--not-mended", "--note", "too dear"]) == 0
    assert "is closed" in capsys.readouterr().out
    closed = json.loads((case / "case.json").read_bytes())
    assert closed["closed"] and closed["outcome"].endswith("too dear")
    assert not list(case.glob("outcomes/*"))


async def test_by_keyboard_a_proposed_step_is_told_with_one_line(tmp_path: Path) -> None:
    """Warned as soon as it is told; at the next boot the step is ticked, not looked up."""
    app = Console(shop=tmp_path, source=FOLDER / "contact-1.capture.gz")
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        await until_shown(pilot, "Cases are kept")
        await pilot.press("i")
        await until(pilot, IntakeScreen)
        await pilot.press("down", "down", "down", "down", "enter")
        await until(pilot, ChooseScreen)
        await pilot.press("down", "enter")
        await until(pilot, IntakeScreen)
        await pilot.press("d")
        await until(pilot, StartScreen)
        await until_shown(pilot, "CAUTION: Liquid was in it")
        assert_holds(app)
        await pilot.press("t", "4", "escape", "s")
        await until(pilot, VerdictScreen)
        await until_shown(pilot, "NEXT STEP inspect inside")
        assert_holds(app)
    again = Console(shop=tmp_path, source=FOLDER / "contact-1.capture.gz")
    async with again.run_test(size=(80, 25)) as pilot:
        await until(pilot, ResumeScreen)
        await until_shown(pilot, "[ ] Done as proposed: inspect inside")
        screen = again.screen
        assert isinstance(screen, ResumeScreen)
        rows = [option.id for option in screen.query_one(ResumeList).options]
        await pilot.press("home", *["down"] * rows.index("done"), "enter")
        await until_shown(pilot, "[x] Done as proposed: inspect inside")
        assert_holds(again)
        await pilot.press("home", "enter")
        await until(pilot, VerdictScreen)
    case, runs = _saved(tmp_path)
    assert case.ticket == "4"
    assert runs[1].answers == (LookedInside(),)


def test_a_wet_board_gets_no_power_unwarned(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The worksheet puts power to the machine before any verdict could say: open it first."""
    tables, sheet = knowledge.load(), knowledge.worksheet()
    lines = (ToldLine(about="after", words="a liquid"),)
    for told, warned in ((lines, True), ((), False)):
        monkeypatch.setattr("sys.stdin", io.StringIO("\n" * 40))
        prompts.fill(Complaint.NO_POWER, sheet, tables, told)
        said = " ".join(capsys.readouterr().err.split())
        # The first step under power is the adapter's lamp, with the plug in the machine.
        assert ("Liquid was in it" in said.partition("Lamp of the adapter:")[0]) is warned


def test_every_step_under_power_is_marked() -> None:
    """By what the steps say to do: pressing the button, or looking at a machine that is on."""
    sheet = knowledge.worksheet()
    on = re.compile(r"\bpress(?:: | the button:| the button and|\b.*count)|adapter and machine|"
                    r"plug it in|screen|[Cc]ount beeps|machine on")  # fmt: skip
    for step in sheet.step:
        out = step.do.startswith(("Adapter and battery out", "All power out"))
        assert step.powers is (bool(on.search(step.do)) and not out), step.name


@pytest.mark.slow
async def test_the_console_warns_there_too(tmp_path: Path) -> None:
    story = Played(name="wet", truth="coffee", visits=(
        Visit(None, (
            *counter("After what=a liquid", complaint="no power"),
            "see Adapter", *["press enter"] * 8, "see Signs of life", "see Liquid was in it",
        )),
    ))  # fmt: skip
    app = KeyPlayer(tmp_path, (80, 25))
    await app.play(story)
    assert "Liquid was in it" in app.screens[-1]


@pytest.mark.parametrize(("data", "wanted"), [("wanted, no copy", True), ("not wanted", False)])
def test_the_data_of_a_dead_machine_are_read_in_another(
    data: str, wanted: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its drive may be sound (common practice, no source): nobody could ask it."""
    sheet = tmp_path / "sheet.toml"
    sheet.write_text('[label]\nvolts = 19.5\n[answers]\nsigns-of-life = "no"\n'
                     "rail-resistance = 0.5\n", "utf-8")  # fmt: skip
    words = ["run", "--complaint", "no-power", "--readings", str(sheet), "--shop", str(tmp_path)]
    assert cli.main([*words, "--told", f"data={data}"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert ("is read in another machine before the board" in said) == wanted
    (report,) = tmp_path.glob("livecheck-cases/*/report.html")
    page = Page(report.read_text("utf-8")).text("customer")
    assert "Not tested: the machine does not start." in page
