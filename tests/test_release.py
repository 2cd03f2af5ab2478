"""Which livecheck it is: the same words on the first screen, at ``--version`` and in reports."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from livecheck import cli, release
from livecheck.console.app import Console
from livecheck.console.frame import TitleLine
from livecheck.console.screens.start import StartScreen
from livecheck.report import render
from tests import factories
from tests.console.console_limits import capture_of, until

BUILT = "0.1.0+20260301.1a2b3c4"
WORDS = "0.1.0 (2026-03-01, 1a2b3c4)"


@pytest.mark.parametrize(
    ("version", "words"),
    [
        (BUILT, WORDS),
        ("0.1.0+20260301", "0.1.0 (2026-03-01)"),
        ("0.1.0", "0.1.0"),
        ("0.1.0+of.someone.else", "0.1.0+of.someone.else"),
        ("<b>0.1.0+20260301</b>", "<b>0.1.0+20260301</b>"),
    ],
)
def test_day_and_commit_are_told_where_the_build_wrote_them(version: str, words: str) -> None:
    assert release.told(version) == words


def test_the_command_line_tells_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(release, "__version__", BUILT)
    with pytest.raises(SystemExit):
        cli.main(["--version"])
    assert capsys.readouterr().out == f"livecheck {WORDS}\n"


async def test_the_first_screen_tells_it_beside_whether_the_stick_may_be_pulled(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Before the machine was looked at, in the 80 columns of the smallest console."""
    monkeypatch.setattr(release, "__version__", BUILT)
    app = Console(shop=tmp_path, source=capture_of(0, 0, tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        app.stick = "The stick must stay in: there is too little memory."
        title = app.screen.query_one(TitleLine).render().plain
    assert title.startswith(f"livecheck : start : {WORDS} ")
    assert title.endswith(" The stick must stay in")


def test_a_report_tells_which_made_each_run() -> None:
    """Not which wrote the page: runs of one case may be of two sticks."""
    bench = factories.port_and_battery()
    first, *rest = bench.runs
    runs = (msgspec.structs.replace(first, program=BUILT), *rest)
    page = render(*bench._replace(runs=runs))
    assert f"Program {WORDS}, kernel" in page and "Program 0.1.0, kernel" in page
