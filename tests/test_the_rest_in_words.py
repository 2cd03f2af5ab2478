"""What no case is judged by, in German and Spanish: worksheet and flex test at a terminal, copying
a drive, what was learned, the shop's own pages, and what ``--help`` says."""

from __future__ import annotations

import argparse
import io
import sys
from pathlib import Path
from typing import Literal

import pytest

from livecheck import cli, demo, knowledge, languages, live_host, rescue
from livecheck.diagnosis.worksheet_words import BadAnswers, read_label, read_supply
from livecheck.found_words import reworded
from livecheck.learning.words import learned_text
from livecheck.records import Complaint, HeldOut, Learned, LearnedTables
from livecheck.wording import text
from tests.english_left import english_left
from tests.flex.test_counter import Jack
from tests.report.customers_part import languages as languages_of
from tests.report.customers_part import words
from tests.test_rescue import BAD, EMPTY

FOREIGN = languages.LANGUAGES[1:]
CAPTURE = str(Path(demo.__file__).parent / "drive-1.capture.gz")
Heard = pytest.CaptureFixture[str]


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def _left(capsys: Heard, language: str, *names: str) -> set[str]:
    told = capsys.readouterr()
    said = (told.out + told.err).replace(CAPTURE, "")
    return english_left(said.splitlines(), language, ("livecheck", "UTC", *names))


@pytest.mark.parametrize("language", FOREIGN)
def test_commands_and_the_shops_pages(language: str, tmp_path: Path, capsys: Heard) -> None:
    """``rescue``, ``learn``, ``outcome``, ``cases`` with its page, and the guide."""
    (tmp_path / "shop.toml").write_text(f'[shop]\nlanguage = "{language}"\n', "utf-8")
    shop = ("--shop", str(tmp_path))
    assert cli.main(["run", "--from", CAPTURE, "--complaint", "slow", "--ticket", "7", *shop]) == 0
    case = str(next(tmp_path.rglob("case.json")).parent)
    capsys.readouterr()
    for onto in ("nvme0n1", "sdz"):
        assert cli.main(["rescue", case, "--from", CAPTURE, "--to", onto, *shop]) == 3
    for more in ([], ["--show"], ["--undo"]):
        assert cli.main(["learn", *more, *shop]) in (0, 3)
    assert cli.main(["outcome", case, "--unit", "drive", "--proved", "yes", *shop]) == 0
    assert cli.main(["cases", *shop]) == 0
    assert cli.main(["guided", "--list", *shop]) == 0
    guide = tmp_path / "guide.html"
    assert cli.main(["--language", language, "guide", "--to", str(guide)]) == 0
    checks = [row.name for row in knowledge.guided().check]
    assert not _left(capsys, language, "device", "network", str(tmp_path), *checks)
    for page in (next(tmp_path.rglob("index.html")), guide):
        html = page.read_text("utf-8")
        assert languages_of(html) == {language}
        read = words(html.partition("<body>")[2])
        assert not english_left([read], language, ("livecheck", "cases", "find", "boot", "UTC"))


@pytest.mark.parametrize("language", FOREIGN)
def test_a_copy_and_what_was_learned(language: str) -> None:
    tables: tuple[tuple[Literal["shows", "alarm", "weight"], str], ...] = (
        ("shows", "*"),
        ("alarm", "*"),
        ("weight", "drive"),
    )
    rows = tuple(
        Learned(table=table, name=name, expected=1.0, found=2.0, cases=3.0, factor=1.5)
        for table, name in tables
    )
    held = HeldOut(cases=9, right_before=5, right_after=6, mended=2, spoilt=1,
                   log_before=-1.5, log_after=-1.25, standard_error=0.0625)  # fmt: skip
    made = LearnedTables(made="2026-03-01T10:00:00Z", cases=("A",), learned=rows, held_out=held)
    with languages.speaking(language):
        said = [*rescue.told(BAD, EMPTY, Path("/shop")), learned_text(made, knowledge.load())]
    kept = ("BAD", "NEW", "UTC", "blockdev", "--setrw", "ddrescue", "--force", "--no-scrape",
            "--idirect",
            "--retry-passes", "rescue.map", "gap", "drive")  # fmt: skip
    assert not english_left(said, language, kept)
    assert "-1,500" in said[-1]


@pytest.mark.parametrize("language", FOREIGN)
def test_the_worksheet_at_a_terminal(
    language: str, tmp_path: Path, capsys: Heard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Questions, choices, what is not understood; an answer in the language is the saved one."""
    with languages.speaking(language):
        plug = text("worksheet.round")
        firm = text("measure-choice.firm")
    typed = ("x", plug, "19.5", "19.5 V 3.33 A", "x", "", "-1", "19.6", "", "", firm)
    monkeypatch.setattr(sys, "stdin", _Terminal("\n".join(typed) + "\n"))
    run = ["--language", language, "run", "--complaint", Complaint.NO_POWER, "--json"]
    assert cli.main([*run, "--shop", str(tmp_path)]) == 0
    told = capsys.readouterr()
    saved = next(tmp_path.rglob("run.json")).read_text("utf-8")
    assert '"value": "firm"' in saved
    assert not english_left(told.err.splitlines(), language, ("livecheck", "ohm"))


@pytest.mark.parametrize("language", FOREIGN)
@pytest.mark.parametrize("losses", [[], [(2.0, 0.07), (4.0, 0.5)]])
def test_the_flex_test_at_a_terminal(
    language: str, losses: list[tuple[float, float]], tmp_path: Path, capsys: Heard,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """Lines, the comparison with another adapter, and large letters."""
    jack = Jack(losses)
    monkeypatch.setattr(live_host, "LiveHost", lambda: jack)
    monkeypatch.setattr(sys, "stdin", _Terminal("\n"))
    flex = ["--language", language, "flex", "--seconds", "12", "--shop", str(tmp_path)]
    assert cli.main([*flex, "--no-save", "--compare"]) == 0
    assert not _left(capsys, language, "ADP1", "ms", str(tmp_path))
    large = _Terminal()
    monkeypatch.setattr(sys, "stderr", large)
    assert cli.main([*flex, "--no-save"]) == 0
    assert not english_left(large.getvalue().splitlines(), language, ("ADP1", "ms"))


def _commands() -> dict[str, argparse.ArgumentParser]:
    """Every command by its name."""
    (below,) = (one for one in cli.parser()._actions
                if isinstance(one, argparse._SubParsersAction))  # fmt: skip
    return dict(below.choices)


def _typed(parser: argparse.ArgumentParser) -> set[str]:
    """What stands in a usage as it is typed, or for what is typed."""
    options = [one for one in parser._actions if not isinstance(one, argparse._SubParsersAction)]
    names = {one.metavar for one in options if isinstance(one.metavar, str)}
    names |= {str(word) for one in options for word in one.choices or ()}
    return names | {one.dest.upper() for one in options}


@pytest.mark.parametrize("language", FOREIGN)
@pytest.mark.parametrize("command", ["", *sorted(_commands())])
def test_help(language: str, command: str, capsys: Heard) -> None:
    """Names of commands, options and their values are typed, and stay."""
    typed = {name for parser in (cli.parser(), *_commands().values()) for name in _typed(parser)}
    with pytest.raises(SystemExit):
        cli.main([*command.split(), "--help"])
    english = capsys.readouterr().out.splitlines()
    with pytest.raises(SystemExit):
        cli.main(["--language", language, *command.split(), "--help"])
    told = capsys.readouterr().out.splitlines()
    assert not english_left(told, language, (*typed, *_commands()))
    sentences = [line for line in told if not line.lstrip().startswith("-") and " " in line.strip()]
    assert not [line for line in sentences if line in english and "[" not in line]


@pytest.mark.parametrize("language", FOREIGN)
def test_help_in_the_shops_language(language: str, tmp_path: Path, capsys: Heard) -> None:
    (tmp_path / "shop.toml").write_text(f'[shop]\nlanguage = "{language}"\n', "utf-8")
    with pytest.raises(SystemExit):
        cli.main(["cases", "--shop", str(tmp_path), "--help"])
    assert "usage" not in capsys.readouterr().out


@pytest.mark.parametrize("language", FOREIGN)
@pytest.mark.parametrize(
    "argv", [["run", "--depth", "x"], ["rescue"], ["cases", "--no"], ["report", "a", "b"], ["xx"]]
)
def test_wrong_usage(language: str, argv: list[str], capsys: Heard) -> None:
    assert cli.main(["--language", language, *argv]) == 2
    typed = {name for parser in (cli.parser(), *_commands().values()) for name in _typed(parser)}
    assert not _left(capsys, language, *typed, *_commands(), "command")


@pytest.mark.parametrize("language", FOREIGN)
@pytest.mark.parametrize(
    "label", ["", "x", "3.33 A", "190 V", "19.5 V 3.33 kg", "19.5 V 99 A", "v" * 300]
)
def test_what_is_no_label(language: str, label: str) -> None:
    """On the console too, where it stands below the field."""
    for read in (lambda: read_label(label, knowledge.worksheet()), lambda: read_supply("x")):
        with pytest.raises(BadAnswers) as refused, languages.speaking(language):
            read()
        with languages.speaking(language):
            assert not english_left([reworded(str(refused.value))], language, ("usb-c", "round"))
