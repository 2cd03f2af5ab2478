"""The whole flow in German and in Spanish, on the stick's own screen; half an hour each."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from livecheck import languages
from livecheck.casefile import CaseFolder
from livecheck.probes import registry
from livecheck.records.shop import ShopFacts
from tests.english_left import english_left
from tests.report import customers_part
from tests.report.browser import browser
from tests.report.checkers import axe_findings, nu_findings
from tests.virtual_laptop.in_a_language import NAMES, played

pytestmark = pytest.mark.boot


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_nothing_is_english_from_boot_menu_to_report(
    language: str, image: Path, tmp_path: Path
) -> None:
    """Screens and report; the report passes the checkers of markup and accessibility."""
    play = played(image, tmp_path / language, language)
    (case,) = play.cases()
    runs = CaseFolder(case).load().runs
    assert [run.hand_over for run in runs] == [False, False, True]
    seen = [run.inventory for run in runs]
    ids = [part.id for one in seen for part in one.parts]
    ids += [place.id for one in seen for place in one.places]
    ids += [controller.id for one in seen for controller in one.controllers]
    names = customers_part.makers_names(runs, ShopFacts(), *NAMES, *registry.BY_NAME, *ids)
    left = {name: english_left(lines, language, names) for name, lines in play.screens.items()}
    assert not {name: words for name, words in left.items() if words}
    assert play.unread == 0, "cells that the console's font has no glyph for, or half drawn"
    report = case / "report.html"
    html = report.read_text("utf-8")
    assert customers_part.languages(html) == {language}
    # Raw lines behind a reading, ids and identities are as machines say them.
    read = customers_part.words(re.sub("<code>.*?</code>", " ", html.partition("<body")[2]))
    assert not english_left([read], language, names)
    assert nu_findings([report]) == []
    with browser() as shown:
        shown.open(report)
        wrong, _ = axe_findings(shown)
        assert wrong == [], "what it leaves to a person are figures over drawings"
