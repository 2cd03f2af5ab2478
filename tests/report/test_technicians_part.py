"""A shop whose technicians read another language: their part of the report in it.

Records, summaries and the verdict stay as they are; the customer's part has its own language.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from livecheck import (
    judgement,
    knowledge,
    languages,
    wording,
)
from livecheck.casefile import CaseFolder, Shop
from livecheck.records import Knowledge
from livecheck.report import customer, view
from tests.console import spoken_screens
from tests.report import customers_part

WRITTEN = {"GB", "°C", "Gb", "GT", "UTC", "SODIMM", "NVMe", "Linux", "livecheck", "x86_pkg_temp",
           "5e", "a1", "TN14-MB", "A1", "V2"}  # fmt: skip
"""Units, standards and names, in every language so; what the demo's makers call their parts."""
FRONT = '<div class="front">'


@pytest.fixture
def _pseudo(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    spoken_screens.with_pseudo(monkeypatch, customer, view)
    yield


def _tables(language: str, customers: str | None = "en") -> Knowledge:
    tables = knowledge.load()
    facts = msgspec.structs.replace(tables.shop, language=language, customer_language=customers)
    return msgspec.structs.replace(tables, shop=facts)


def _report(path: Path, to: Path, language: str, customers: str | None = "en") -> str:
    judgement.write_report(CaseFolder(path), _tables(language, customers), to)
    return to.read_text("utf-8")


@pytest.mark.usefixtures("_pseudo")
@pytest.mark.parametrize("number", [0, 1, 2])
def test_nothing_in_it_comes_past_the_catalogue(
    number: int, demo_shop: Path, tmp_path: Path
) -> None:
    path = Path(Shop(demo_shop).entries()[number].path)
    html = _report(path, tmp_path / "report.html", customers_part.PSEUDO)
    with languages.speaking(customers_part.PSEUDO):
        ground = spoken_screens.judged(demo_shop, number)
    sources = {one.source for run in ground.case.loaded.runs for one in run.readings}
    raw = [line for run in CaseFolder(path).load().runs for one in run.readings
           for line in (*one.details, one.source)]  # fmt: skip
    told = customers_part.words(
        re.sub("<(style|code)>.*?</(style|code)>", "", html.partition(FRONT)[2])
    )
    for words in sorted({*raw, *sources} - {""}, key=len, reverse=True):
        told = told.replace(wording.clean(" ".join(words.split())), " ")
    told = re.sub(r"serial:[\w.-]+", " ", told)
    machine = ground.case.loaded.runs[-1].inventory.machine
    facts = {word for fact in msgspec.structs.astuple(machine) for word in str(fact).split()}
    past = set(spoken_screens.stray([told], ground)) - facts - WRITTEN
    assert not past, " ".join(sorted(past))


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
@pytest.mark.parametrize("customers", languages.LANGUAGES)
def test_it_changes_nothing_but_its_own_words(
    language: str, customers: str, demo_shop: Path, tmp_path: Path
) -> None:
    """The page says which language it is in; the customer's part is what it was."""
    path = Path(Shop(demo_shop).entries()[-1].path)
    html = _report(path, tmp_path / "own.html", language, customers)
    english = _report(path, tmp_path / "english.html", "en", customers)
    assert f'<html lang="{language}">' in html
    note = '<p class="note">'
    assert (
        customers_part.part(html).partition(note)[0]
        == (customers_part.part(english).partition(note)[0])
    )


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_customers_read_what_the_shop_does_unless_it_says(
    language: str, demo_shop: Path, tmp_path: Path
) -> None:
    path = Path(Shop(demo_shop).entries()[-1].path)
    pages = [_report(path, tmp_path / f"{n}.html", language, customers)
             for n, customers in enumerate((None, language, "en"))]  # fmt: skip
    own, asked, english = map(customers_part.part, pages)
    assert own == asked != english


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_what_is_saved_beside_it_stays(language: str, demo_shop: Path) -> None:
    """Records and the summary that other benches read are the same."""
    folder = CaseFolder(Path(Shop(demo_shop).entries()[0].path))

    def kept() -> dict[str, object]:
        files = sorted(Path(folder.path).rglob("*.json"))
        return {file.name: json.loads(file.read_bytes()) for file in files}

    judgement.save_report(folder, _tables("en"))
    before = kept()
    judgement.save_report(folder, _tables(language))
    assert kept() == before
    judgement.save_report(folder, _tables("en"))
