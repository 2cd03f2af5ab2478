"""The console in another language: nothing on it that is in no catalogue, screen by screen.

The pseudo-language has every key of the catalogue and every word that tables hold
(``worded.table_words``); what a technician reads outside its brackets came past both.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from livecheck import (
    chances,
    console,
    knowledge,
    languages,
    suspects,
    worded,
    worded_runs,
    wording,
)
from livecheck.casefile import CaseFolder, Shop
from livecheck.console import case_files, verdict_lines
from livecheck.console.answers import probe_title
from livecheck.console.judged_case import JudgedCase
from livecheck.console.progress import RunProgress
from livecheck.console.screens.running import EDGES, RunningScreen
from livecheck.names import Names
from livecheck.probes import registry
from livecheck.records import Candidate, Place, Side
from tests import factories
from tests.console import spoken_screens
from tests.console.console_limits import assert_holds
from tests.report import customers_part

WHOLE = tuple(f"{one}." for one in (
    "say", "key", "key-name", "where", "help", "start", "intake", "options", "running",
    "next-step", "help-page", "unsaved", "reading", "parts-tree", "case-list", "pick", "resume",
    "treated", "task", "soak", "ask", "alarm", "console", "behind", "way-on", "no-step",
    "suspects", "outcome", "side", "change", "take-out", "unit", "runs", "names", "value",
    "presence", "complaint", "chance", "became", "worksheet", "parts",
    "flexed", "self-tested", "metered", "guided-list", "guide-says", "guide-way", "log",
    "voice", "printed", "page", "nav", "verdict", "meaning", "faults", "swaps", "evidence", "tree",
    "readings", "not-tested", "identity", "method", "answer", "run", "meters", "storage", "step",
    "told", "weight", "count", "swollen",
))  # fmt: skip
"""Sections of the catalogue that a technician's language has all of."""


@pytest.fixture
def _pseudo(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    spoken_screens.with_pseudo(monkeypatch)
    with languages.speaking(customers_part.PSEUDO):
        yield


def test_what_keys_and_screens_are_called_is_asked_for() -> None:
    """Each is named by a binding, a title or a help of a screen, or by a key on a keyboard."""
    files = Path(console.__file__).parent.rglob("*.py")
    source = "".join(file.read_text("utf-8") for file in files)
    named = set(re.findall(r'"(?:where\.)?([a-z-]+)"', source))
    sections = ("key.", "key-name.", "where.", "help.")
    own = {key for key in wording.catalogue() if key.startswith(sections)}
    assert {key.partition(".")[2] for key in own} <= named


@pytest.mark.usefixtures("_pseudo")
@pytest.mark.parametrize("name", spoken_screens.SCREENS)
async def test_nothing_on_a_screen_comes_past_the_catalogue(name: str, demo_shop: Path) -> None:
    ground = spoken_screens.judged(demo_shop)
    app = spoken_screens.Bench()
    async with app.run_test(size=(80, 25)) as pilot:
        screen = await spoken_screens.shown_on(name, ground, pilot)
        past = spoken_screens.stray(list(spoken_screens.read_on(screen)), ground)
        assert not past, " ".join(past[:60])


@pytest.mark.usefixtures("_pseudo")
@pytest.mark.parametrize("number", [0, 1])
@pytest.mark.parametrize("name", ["verdict", "step", "evidence", "tree", "big"])
async def test_nor_of_other_cases(name: str, number: int, demo_shop: Path) -> None:
    ground = spoken_screens.judged(demo_shop, number)
    app = spoken_screens.Bench()
    async with app.run_test(size=(80, 25)) as pilot:
        screen = await spoken_screens.shown_on(name, ground, pilot)
        past = spoken_screens.stray(list(spoken_screens.read_on(screen)), ground)
        assert not past, " ".join(past[:60])


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
@pytest.mark.parametrize("name", spoken_screens.SCREENS)
async def test_a_screen_is_whole_in_each_language(
    name: str, language: str, demo_shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At 80x25: nothing said in English for want of a word, no glyph missing, nothing cut off."""
    real, missing = wording.catalogue, set[str]()

    class Told(dict[str, str]):
        """English that is asked for because the language has no such key."""

        def __getitem__(self, key: str) -> str:
            missing.add(key)
            return super().__getitem__(key)

    english = Told(real())
    monkeypatch.setattr(
        wording, "catalogue", lambda one="en": english if one == "en" else real(one)
    )
    with languages.speaking(language):
        ground = spoken_screens.judged(demo_shop)
        app = spoken_screens.Bench()
        async with app.run_test(size=(80, 25)) as pilot:
            await spoken_screens.shown_on(name, ground, pilot)
            assert_holds(app)
    # Asked for where the tables are loaded, which are English.
    assert not missing - {"log.question"}


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_tables_are_translated_whole(language: str) -> None:
    """Kinds, cautions, what checks ask, the intake sheet and the titles of probes."""
    own = wording.catalogue(language)
    wanted = spoken_screens.other_words().keys()
    assert wanted <= own.keys(), sorted(wanted - own.keys())
    english = {key for key in wording.catalogue() if key.startswith(WHOLE)}
    assert english <= own.keys(), sorted(english - own.keys())


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
@pytest.mark.parametrize("barred", [(), ("titles",), ("kinds",)])
def test_a_verdict_is_the_same_in_each_language(
    language: str, barred: tuple[str, ...], demo_shop: Path, tmp_path: Path
) -> None:
    """Names and sentences are put over what is judged, and change nothing of it; nor of what was
    ruled out, by the English title of a kind or by its word."""
    shutil.copytree(demo_shop, tmp_path / "shop")
    kinds = knowledge.load().kinds
    no_spares = {"titles": [row.title for row in kinds.values()], "kinds": list(kinds)}
    cannot = tuple(f"{step}: {one}" for way in barred for one in no_spares[way]
                   for step in ("no spare", "reseat"))  # fmt: skip
    for entry in Shop(tmp_path / "shop").entries():
        CaseFolder(Path(entry.path)).change_case(
            lambda case: msgspec.structs.replace(case, cannot=cannot)
        )
        told = []
        for spoken in (languages.ENGLISH, language):
            with languages.speaking(spoken):
                case = case_files.open_case(Path(entry.path))
            assert isinstance(case, JudgedCase)
            found, step = case.location, case.next_step
            told.append((found.side, found.component, found.probability, found.sides,
                         [(one.component, one.probability) for one in found.candidates],
                         (step.action, step.target, step.to, step.minutes) if step else None,
                         case.rule_of(step) if step else None))  # fmt: skip
        assert told[0] == told[1]
        proposed = told[0][5]
        assert (
            not barred or proposed is None or proposed[0] not in ("reseat", "swap with known-good")
        )


@pytest.mark.parametrize("language", languages.LANGUAGES)
def test_chances_make_a_column(language: str) -> None:
    with languages.speaking(language):
        assert len({len(chances.in_column(share)) for share in (0.0, 0.06, 0.5, 0.999)}) == 1


@pytest.mark.parametrize("language", languages.LANGUAGES)
async def test_a_run_without_a_finding_says_so(language: str) -> None:
    with languages.speaking(language):
        app, nothing = spoken_screens.Bench(), wording.text("running.nothing-yet")
        async with app.run_test(size=(80, 25)) as pilot:
            screen = RunningScreen(registry.ALL, {})
            await pilot.app.push_screen(screen)
            await pilot.pause()
            screen.draw()
            await pilot.pause()
            assert nothing in list(spoken_screens.read_on(screen))


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_what_has_names_of_its_own_keeps_them_apart(language: str, demo_shop: Path) -> None:
    """Two slots are not called alike because their English names share what is common."""
    sides = ("left", "right", "front", "back", "top", "bottom")
    sockets = tuple(Place(id=f"usb:{side}", kind="usb-port", name=f"USB port ({side})",
                          external=True, attributes={"where": side}) for side in sides)  # fmt: skip
    mine = Place(id="usb:mine", kind="usb-port", name="socket beside the fan")
    seen = [
        run
        for entry in Shop(demo_shop).entries()
        for run in CaseFolder(Path(entry.path)).load().runs
    ]
    tables = knowledge.load()
    for run in (*seen, factories.port_and_battery().runs[0]):
        places = (*run.inventory.places, *sockets, mine)
        more = msgspec.structs.replace(run.inventory, places=places)
        run = msgspec.structs.replace(run, inventory=more)
        with languages.speaking(language):
            (own,) = worded_runs.worded_runs((run,), worded.worded(tables), {mine.name})
            called = Names((own,), worded.worded(tables))
            assert mine.name in called.of(mine.id).label
        english = [place.name for place in run.inventory.places if place.kind != "usb-port"]
        named = [place.name for place in own.inventory.places if place.kind != "usb-port"]
        assert len(set(named)) == len(set(english))
        assert len({called.of(socket.id).label for socket in sockets}) == len(sides)


def test_what_is_saved_is_english(demo_shop: Path, tmp_path: Path) -> None:
    """A report and an outcome written by a console that speaks German."""
    shutil.copytree(demo_shop, tmp_path / "shop")
    entry = Shop(tmp_path / "shop").entries()[-1]
    path = Path(entry.path)
    before = (path / "report.html").read_text("utf-8")
    languages.adopt("de")
    try:
        case = case_files.open_case(path)
        assert isinstance(case, JudgedCase) and "Fehler" in case.location.sentence
        assert case_files.rule_out(path, "no spare: drive", back=False) is None
        assert case_files.rule_out(path, "no spare: drive", back=True) is None
        assert (path / "report.html").read_text("utf-8") == before
        proved = case.location.candidates[1].component
        assert case_files.record_outcome(case, proved, proved=True) is None
    finally:
        languages.adopt(languages.ENGLISH)
    closed = CaseFolder(path).case()
    assert closed.outcome == "wireless card"
    assert [one.name for one in CaseFolder(path).proved()[0]] == ["wireless card"]


@pytest.mark.parametrize("language", languages.LANGUAGES)
def test_a_unit_of_several_is_called_in_the_language(language: str) -> None:
    """The board, with what may be at fault on it."""
    parts = [
        Candidate(component=name, kind=name, name=name, unit="mainboard", side=Side.CONTROLLER,
                  probability=0.3, bears=True)
        for name in ("charging-circuit", "embedded-controller")
    ]  # fmt: skip
    found = msgspec.structs.replace(factories.location(), candidates=tuple(parts))
    with languages.speaking(language):
        (line,) = (verdict_lines._suspect(one) for one in suspects.suspects(found))
        assert f"{wording.text('names.mainboard')}: " in line.text


@pytest.mark.parametrize("language", languages.LANGUAGES)
def test_no_probe_is_cut_short_in_its_table(language: str) -> None:
    """At 80 columns, less the edges and the scroll bar."""
    with languages.speaking(language):
        course = RunProgress(registry.ALL, {}, "quick", lambda: 0.0)
        rows = course.table(80 - EDGES)
        assert all(any(probe_title(one) in row for row in rows) for one in registry.ALL)
