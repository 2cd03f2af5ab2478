"""Every page against checkers made elsewhere: markup, accessibility, and that it stands alone.

Outside sources: the Nu Html Checker for markup and style sheets, axe-core for WCAG 2,
Chromium for what a page asks the network for and how wide it lies. See ``checkers``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest

from livecheck import languages
from tests.report import every_page
from tests.report.browser import A4, LETTER, Browser, browser
from tests.report.checkers import axe_findings, nu_findings

pytestmark = pytest.mark.slow
NARROW: Final = 390
"""CSS pixels across a telephone held upright; assumed."""
DARK: Final = ("port-and-battery", "undetermined", "hand-over-refused", "case-index", "guide")
MOST_PAGES: Final = 6
"""Sheets the demo's longest report may take: one for the customer, one to order by, four more."""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return every_page.write(tmp_path_factory.mktemp("pages"))


@pytest.fixture(scope="module")
def shown() -> Iterator[Browser]:
    with browser() as running:
        yield running


def test_the_markup_is_valid(pages: dict[str, Path]) -> None:
    assert nu_findings(list(pages.values())) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_pages_can_be_used_by_everyone(
    pages: dict[str, Path], shown: Browser, scheme: str
) -> None:
    """A dark screen changes colours only, so there a few pages stand for all."""
    found: dict[str, list[str]] = {}
    for name, page in pages.items():
        if scheme == "dark" and name not in DARK:
            continue
        shown.open(page, scheme=scheme)
        wrong, unsure = axe_findings(shown)
        found |= {name: wrong + unsure} if wrong + unsure else {}
    assert found == {}


def test_the_pages_load_nothing(pages: dict[str, Path], shown: Browser) -> None:
    for page in pages.values():
        shown.open(page)
        assert shown.requests == [page.resolve().as_uri()]
        assert shown.complaints == []


def test_the_pages_fit_a_narrow_screen(pages: dict[str, Path], shown: Browser) -> None:
    wide: dict[str, int] = {}
    for name, page in pages.items():
        shown.open(page, width=NARROW)
        across = shown.evaluate("document.documentElement.scrollWidth")
        wide |= {name: across} if across > NARROW else {}
    assert wide == {}


def test_the_reports_are_short_on_paper(
    pages: dict[str, Path], shown: Browser, tmp_path: Path
) -> None:
    """Chromium's own PDF: each sheet is a page object of it (ISO 32000-1, 7.7.3.3)."""
    sheets: dict[str, int] = {}
    demo = {name: page for name, page in pages.items() if "DEMO" in name}
    for name, page in {**demo, "guide": pages["guide"]}.items():
        shown.open(page)
        for paper in (A4, LETTER):
            pdf = tmp_path / "printed.pdf"
            shown.printed(pdf, paper)
            sheets[f"{name} {paper}"] = len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))
    assert len(demo) == 3 * len(languages.LANGUAGES)
    assert min(sheets.values()) >= 1
    # German and Spanish take more room for the same words.
    most = {name: 1 if "guide" in name else MOST_PAGES + ("-all-" in name) for name in sheets}
    assert {name: n for name, n in sheets.items() if n > most[name]} == {}


BAD = """<!DOCTYPE html><html><head><title>x</title><style>p{color:#999}</style></head><body>
<p id="a">pale<p id="a">twice<img src="pixel.png"><table><td>cell</table></body></html>"""


def test_the_checkers_find_what_is_wrong(tmp_path: Path, shown: Browser) -> None:
    """A page with known faults: none of these tests passes by looking at nothing."""
    bad = tmp_path / "bad.html"
    bad.write_text(BAD, "utf-8")
    assert any("Duplicate ID" in line for line in nu_findings([bad]))
    shown.open(bad)
    assert len(shown.requests) == 2
    rules = {line.partition(":")[0] for line in axe_findings(shown)[0]}
    assert {"color-contrast", "html-has-lang", "image-alt"} <= rules
