"""What probes found, in the technician's language: only the record stays English."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from livecheck import found_words, languages
from livecheck.casefile import CaseFolder, Shop
from livecheck.console import case_files
from livecheck.console.judged_case import JudgedCase
from livecheck.records import Run

PACKAGE = Path(found_words.__file__).parent
OF_OTHERS = {"conveyance", "upwards", "downwards", "positional"}
"""A drive's word, and two that are put together."""


def _said(run: Run) -> Iterator[str]:
    """All that probes say in a run, in an order that does not depend on its language."""
    for one in run.readings:
        yield from (one.says, one.why_not or "", *one.conditions)
    for missed in run.not_tested:
        yield from (missed.what, missed.why)
    yield from (probe.says for probe in run.probes)


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_nothing_that_probes_say_is_shown_in_english(language: str, demo_shop: Path) -> None:
    left: dict[str, None] = {}
    for entry in Shop(demo_shop).entries():
        path = Path(entry.path)
        with languages.speaking(language):
            case = case_files.open_case(path)
        assert isinstance(case, JudgedCase)
        for english, own in zip(CaseFolder(path).load().runs, case.loaded.runs, strict=True):
            pairs = zip(_said(english), _said(own), strict=True)
            left |= {said: None for said, shown in pairs if said and said == shown}
    assert not left, f"{len(left)}: {'; '.join(left)}"


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_a_template_says_the_same_figures(language: str) -> None:
    """Each field once in both, no two side by side, and the words of a sentence between them."""
    found = found_words.found_in(language)
    assert found.keys() == found_words.found_in("es").keys()
    for english, own in found.items():
        fields = re.findall(r"{\w+}", english)
        assert sorted(fields) == sorted(re.findall(r"{\w+}", own)), english
        assert len(set(fields)) == len(fields) and "}{" not in english, english
        assert not {english, own} & {"", *fields} and english[-1] != ".", english


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_every_template_is_said_by_the_program(language: str) -> None:
    """Its words stand in code or in a table: one that nobody says any more is taken out."""
    files = (*PACKAGE.rglob("*.py"), *(PACKAGE.parent / "shared").glob("*.toml"))
    source = " ".join(file.read_text("utf-8") for file in files if file.name[:6] != "found.")
    # Sentences go over lines of source, and hold what is worked out.
    told = set(re.findall(r"[a-z]{3,}", re.sub(r'"\s*\n?\s*f?"', "", source).lower()))
    left = {
        english: sorted(strange)
        for english in found_words.found_in(language)
        if (strange := set(re.findall(r"[a-z]{3,}", re.sub(r"{\w+}", " ", english).lower()))
            - told - OF_OTHERS)
    }  # fmt: skip
    assert not left


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("The drive is at 36 °C.", "Das Laufwerk hat 36 °C."),
        ("The drive is at 36 °C", "Das Laufwerk hat 36 °C"),
        ("1.5 of 1,234 frames came damaged over the cable.",
         "1,5 von 1234 Frames kamen beschädigt über das Kabel."),
        ("slot A answers on its bus.", "Steckplatz A antwortet an ihrem Bus."),
        # Not a figure where one belongs, two sentences in a name, a name with a colon.
        ("The drive is at some °C.", "The drive is at some °C."),
        ("Die. The drive answers", "Die. Das Laufwerk antwortet"),
        ("Case: the fan stands still.", "Case: the fan stands still."),
        ("Nobody says so.", "Nobody says so."),
        ("the drive is full, is it", "the drive is full, is it"),
        # Known sentences among others, and known words in a row.
        ("The drive answers. Nobody knows.", "Das Laufwerk antwortet. Nobody knows."),
        ("the tray is open; no disc is in", "die Lade ist offen; keine Disc liegt ein"),
        ("the tray is open; who knows", "the tray is open; who knows"),
    ],
)  # fmt: skip
def test_what_fits_no_template_stays(said: str, shown: str) -> None:
    with languages.speaking("de"):
        assert found_words.reworded(said, {"slot A": "Steckplatz A"}) == shown
    assert found_words.reworded(said) == said


@pytest.mark.parametrize("piece", ["a, b; c and d: e (f) ", "x is at of: ", "The drive; 1 ", "(: "])
def test_what_a_device_calls_itself_holds_nothing_up(piece: str) -> None:
    begun = time.monotonic()
    with languages.speaking("de"):
        for times in (1, 9, 90, 900, 90_000):
            assert found_words.reworded(piece * times)
    assert time.monotonic() - begun < 10
