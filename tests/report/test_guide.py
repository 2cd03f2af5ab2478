"""The bench guide and the table of checks: whole, true to the tables, up to date."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from livecheck import cli, knowledge, wording
from livecheck.console.screens.running import RunningScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.lamp_codes import PATTERNS
from livecheck.report.guide import checks_page, guide_page
from tests import pictures
from tests.report.pages import Page

TABLES = knowledge.load()


@pytest.mark.parametrize("name", ["guide.html", "checks.html", "record-format.html"])
def test_the_pages_kept_are_those_of_today(name: str) -> None:
    kept = (pictures.REPORTS / name).read_text("utf-8")
    assert kept == pictures.bench_pages()[name], "make them anew: python -m tests.remake pages"


def test_every_caution_stands_in_the_guide() -> None:
    told = Page(guide_page(TABLES)).text()
    assert all(caution.text in told for caution in TABLES.cautions.values())


def test_the_codes_of_lamps_and_beeper_stand_in_the_guide() -> None:
    told = Page(guide_page(TABLES)).text()
    for signal, pattern in PATTERNS.items():
        lengths = " ".join({"s": "short", "l": "long"}[sign] for sign in pattern)
        assert f"{lengths}: {wording.text(f'voice.code.{signal}')}" in told


def test_the_table_holds_every_check_with_all_it_could_come_from() -> None:
    page = Page(checks_page(TABLES))
    told = page.text()
    for check in TABLES.checks.values():
        assert f"{check.question} {check.name}" in told
        assert all(" ".join(blame.source.split()) in told for blame in check.blames)
    assert len([tag for tag, _ in page.tags if tag == "tr"]) >= len(TABLES.checks)


def test_the_keys_of_the_guide_are_those_of_the_console() -> None:
    """A capital letter alone is a key: it must be bound on the screen the chapter is about."""
    for chapter, screen in (
        ("run-1", RunningScreen),
        ("order-2", VerdictScreen),
        ("back-1", VerdictScreen),
    ):
        told = re.findall(r"\b[A-Z]\b", wording.text(f"guide.{chapter}"))
        bound: set[str] = set()
        for entry in screen.BINDINGS:
            keys = entry[0] if isinstance(entry, tuple) else entry.key
            bound |= set(keys.split(","))
        assert told
        assert {letter.lower() for letter in told} <= bound


def test_the_commands_write_the_pages(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    guide, table = tmp_path / "guide.html", tmp_path / "checks.html"
    assert cli.main(["guide", "--to", str(guide)]) == 0
    assert cli.main(["checks", "--html", str(table)]) == 0
    assert guide.read_text("utf-8") == guide_page(TABLES)
    assert table.read_text("utf-8") == checks_page(TABLES)
    capsys.readouterr()
    assert cli.main(["checks"]) == 0
    assert len(capsys.readouterr().out.splitlines()) == len(TABLES.checks)
    assert cli.main(["guide", "--to", str(tmp_path / "none" / "guide.html")]) == 3
