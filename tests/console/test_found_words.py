"""What probes found, in the technician's language: only the record stays English."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from livecheck import demo, knowledge, languages
from livecheck.casefile import CaseFolder, Shop
from livecheck.console import case_files
from livecheck.console.judged_case import JudgedCase
from livecheck.records import Run


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop drive with the demo's cases on it."""
    folder = tmp_path_factory.mktemp("shop")
    for _ in demo.play(folder, knowledge.load()):
        pass
    return folder


def _said(run: Run) -> Iterator[str]:
    """All that probes say in a run, in an order that does not depend on its language."""
    for one in run.readings:
        yield from (one.says, one.why_not or "", *one.conditions)
    for missed in run.not_tested:
        yield from (missed.what, missed.why)
    yield from (probe.says for probe in run.probes)


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_nothing_that_probes_say_is_shown_in_english(language: str, shop: Path) -> None:
    left: dict[str, None] = {}
    for entry in Shop(shop).entries():
        path = Path(entry.path)
        with languages.speaking(language):
            case = case_files.open_case(path)
        assert isinstance(case, JudgedCase)
        for english, own in zip(CaseFolder(path).load().runs, case.loaded.runs, strict=True):
            pairs = zip(_said(english), _said(own), strict=True)
            left |= {said: None for said, shown in pairs if said and said == shown}
    assert not left, f"{len(left)}: {'; '.join(left)}"
