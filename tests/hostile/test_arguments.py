"""Command lines that make no sense end with a sentence and a status, never with a traceback."""

from __future__ import annotations

import argparse
from pathlib import Path

import pytest

from livecheck import cli
from tests.hostile import drives

COMMANDS = sorted(
    next(a for a in cli.parser()._actions if isinstance(a, argparse._SubParsersAction)).choices
)
LONG = "9" * 5000


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    drives.drive(tmp_path / "drive")
    return tmp_path / "drive"


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("word", ["\udcff", "a\udc80=b", "\0", "a\0b"])
def test_what_is_no_text_is_refused_by_every_command(name: str, word: str) -> None:
    """Bytes of the command line that are not UTF-8 come as halves of surrogates (PEP 383)."""
    status, out, err = drives.command(name, word)
    assert (status, out) == (cli.WRONG_USAGE, "")
    assert word not in err


@pytest.mark.parametrize("name", ["locate", "report", "parts", "tree", "note", "outcome",
                                  "hand-over"])  # fmt: skip
@pytest.mark.parametrize("case", [LONG, f"x/{LONG}", "loop", "loop/x", "../" * 2000])
def test_a_case_that_cannot_be_is_refused(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, case: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "loop").symlink_to("loop")
    words = ["words"] if name == "note" else []
    status, out, err = drives.command(name, case, *words, "--shop", str(shop))
    assert status in (cli.WRONG_USAGE, cli.FAILED)
    assert out == ""
    assert err.startswith("livecheck: ")


@pytest.mark.parametrize(
    "words",
    [
        ("run", "--probes", "passive", "--from", "{}"),
        ("run", "--complaint", "no-power", "--readings", "{}"),
        ("run", "--probes", "passive", "--case", "{}"),
        ("save", "{}"),
        ("read-log", "{}"),
        ("guide", "--to", "{}"),
        ("checks", "--html", "{}"),
        ("cases", "--csv", "{}"),
        ("report", "2026-03-02-T-0", "--to", "{}"),
        ("parts", "2026-03-02-T-0", "--to", "{}"),
        ("cases", "--shop", "{}"),
    ],
    ids=" ".join,
)
@pytest.mark.parametrize("file", ["loop/x", LONG, "/proc/self/mem", "pipe/x"])
def test_a_file_that_cannot_be_is_named(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], file: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "loop").symlink_to("loop")
    at = () if "--shop" in words or words[0] in ("guide", "checks") else ("--shop", str(shop))
    status, _, err = drives.command(*(word.format(file) for word in words), *at)
    assert status in (cli.WRONG_USAGE, cli.FAILED)
    assert err.startswith("livecheck: ")
