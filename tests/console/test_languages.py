"""The console in another language: what is not in the catalogue yet, screen by screen.

The pseudo-language has every key of the catalogue and every word that tables hold
(``worded.table_words``); what a technician reads outside its brackets came past both.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from livecheck import demo, knowledge, languages, signing, worded, wording
from livecheck.probes import registry
from tests.console import spoken_screens
from tests.report import customers_part

PAST = frozenset({"worksheet", "parts"})
"""Screens with words that are not in the catalogue yet."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop drive with the demo's cases on it."""
    folder = tmp_path_factory.mktemp("shop")
    for _ in demo.play(folder, knowledge.load()):
        pass
    return folder


@pytest.fixture
def _pseudo(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    real = wording.catalogue
    tables = dict(worded.table_words(knowledge.load()))
    probes = {f"probe.{probe.name}": probe.title for probe in registry.ALL}
    made = customers_part.pseudo({**real(), **tables, **probes})

    def catalogue(language: str = "en") -> Mapping[str, str]:
        return made if language == customers_part.PSEUDO else real(language)

    for module in (wording, worded, signing):
        monkeypatch.setattr(module, "catalogue", catalogue)
    known = (*languages.LANGUAGES, customers_part.PSEUDO)
    monkeypatch.setattr(languages, "LANGUAGES", known)
    with languages.speaking(customers_part.PSEUDO):
        yield


@pytest.mark.usefixtures("_pseudo")
@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=[pytest.mark.xfail(strict=True)] if name in PAST else [])
        for name in spoken_screens.SCREENS
    ],
)
async def test_nothing_on_a_screen_comes_past_the_catalogue(name: str, shop: Path) -> None:
    ground = spoken_screens.judged(shop)
    app = spoken_screens.Bench()
    async with app.run_test(size=(80, 25)) as pilot:
        screen = await spoken_screens.shown_on(name, ground, pilot)
        past = spoken_screens.stray(list(spoken_screens.read_on(screen)), ground)
        assert not past, " ".join(past[:60])
