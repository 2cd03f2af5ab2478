"""The documentation site: whole, each link leads somewhere, and it stands alone.

Outside sources: the Nu Html Checker, axe-core and Chromium (see ``report.checkers``).
"""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Final
from urllib.parse import unquote

import pytest

from tests import site
from tests.report.browser import browser
from tests.report.checkers import axe_findings, nu_findings
from tests.report.pages import Page

SHEETS: Final = (
    "guide.html",
    "guide-de.html",
    "guide-es.html",
    "checks.html",
    "record-format.html",
)
NARROW: Final = 390
"""CSS pixels across a telephone held upright; assumed."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("site")
    site.write(made)
    return made


def _links(page: Page) -> list[str]:
    return [str(about["href"]) for tag, about in page.tags if tag == "a" and about.get("href")]


def test_each_link_leads_to_a_page_of_it(folder: Path) -> None:
    """From the first page one gets to every other, and back."""
    pages = {file.relative_to(folder).as_posix(): Page(file.read_text("utf-8"))
             for file in folder.rglob("*.html")}  # fmt: skip
    assert {"index.html", "developers.html", "guide.html", "checks.html", "record-format.html",
            "guide-de.html", "guide-es.html", "demo/case-3.html"} <= pages.keys()  # fmt: skip
    for name, page in pages.items():
        for link in _links(page):
            file, _, anchor = unquote(link).partition("#")
            to = (folder / name).parent.joinpath(file).resolve() if file else folder / name
            there = to.relative_to(folder.resolve()).as_posix() if file else name
            assert there in pages, f"{name}: {link}"
            ids = {about.get("id") for _, about in pages[there].tags}
            assert not anchor or anchor in ids, f"{name}: {link}"
    assert pages.keys() - {"index.html"} <= set(_links(pages["index.html"]))
    for name in SHEETS:
        assert "index.html" in _links(pages[name])


@pytest.mark.parametrize(("page", "source"), site.PROSE.items())
def test_what_the_checkout_says_is_on_it_whole(folder: Path, page: str, source: str) -> None:
    """Commands stand as they do in the source; a table's rows are a table's."""
    text = (site.TOP / source).read_text("utf-8")
    shown = (folder / page).read_text("utf-8")
    blocks = re.findall(r"^```\w*\n(.*?)^```$", text, re.M | re.S)
    told = [html.unescape(one) for one in re.findall(r"<pre><code[^>]*>(.*?)</code>", shown, re.S)]
    assert blocks and [one for one in blocks if one not in told] == []
    tags = [tag for tag, _ in Page(shown).tags]
    assert tags.count("table") == len(re.findall(r"^\|-", text, re.M))
    assert tags.count("h1") == 1
    assert tags.count("h2") == len(re.findall(r"^## ", text, re.M))
    assert "```" not in shown and "](" not in Page(shown).text()


@pytest.mark.slow
def test_it_passes_the_checkers_and_loads_nothing(folder: Path) -> None:
    pages = [folder / name for name in (*site.PROSE, *SHEETS)]
    assert nu_findings(pages) == []
    with browser() as shown:
        for page in pages:
            shown.open(page, width=NARROW)
            across = shown.evaluate("document.documentElement.scrollWidth")
            assert (page.name, across) == (page.name, NARROW)
            asked = [one for one in shown.requests if not one.startswith("data:")]
            assert asked == [page.resolve().as_uri()]
            assert shown.complaints == []
            assert (page.name, *axe_findings(shown)) == (page.name, [], [])
