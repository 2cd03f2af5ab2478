"""Words of the command line that name nothing are refused, and the near miss is named."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from livecheck import cli, demo, knowledge
from livecheck.commands.checking import day, identity, step_rule
from livecheck.commands.common import UsageError
from livecheck.near import near

FOLDER = Path(demo.__file__).parent
SOURCE = str(FOLDER / "drive-1.capture.gz")
TABLES = knowledge.load()


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """One open case, with the ticket 77."""
    words = ["run", "--from", SOURCE, "--ticket", "77", "--complaint", "slow"]
    assert cli.main([*words, "--shop", str(tmp_path)]) == 0
    return tmp_path


def _folder(shop: Path) -> Path:
    (file,) = shop.glob("livecheck-cases/*/case.json")
    return file.parent


def _runs(shop: Path) -> int:
    return len(list(shop.glob("livecheck-cases/*/runs/*/run.json")))


def _refused(capsys: pytest.CaptureFixture[str], *words: str, status: int = 2) -> str:
    capsys.readouterr()
    assert cli.main(words) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert not err.startswith("livecheck: livecheck")
    return err


RUN = ("run", "--from", SOURCE, "--complaint", "slow")


def test_a_case_that_is_not_there_is_not_replaced_by_another(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The near miss is named; nothing is saved anywhere."""
    own = _folder(shop).name
    typed = f"{own[:-1]}x"
    said = _refused(capsys, *RUN, "--ticket", "77", "--case", typed, "--shop", str(shop))
    assert f"did you mean {own}?" in said
    assert _runs(shop) == 1


@pytest.mark.slow
def test_a_case_goes_by_its_id_and_by_its_folder(shop: Path) -> None:
    folder = _folder(shop)
    for case in (folder.name, str(folder)):
        assert cli.main([*RUN, "--case", case, "--shop", str(shop)]) == 0
    assert _runs(shop) == 3
    for command in ("locate", "report", "tree", "parts"):
        assert cli.main([command, folder.name, "--shop", str(shop)]) == 0
        assert cli.main([command, str(folder)]) == 0
    note = ["note", folder.name, "--cannot", "no spare: drive", "--shop", str(shop)]
    assert cli.main(note) == 0
    assert json.loads((folder / "case.json").read_bytes())["cannot"] == ["no spare: drive"]


def test_an_id_of_no_case_is_told_with_what_is_near(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = _folder(shop).name
    said = _refused(capsys, "locate", own[:-1], "--shop", str(shop), status=3)
    assert f"did you mean {own}?" in said


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--known-good", "serial:NOSUCH"), "no identity of a fitted part"),
        (("--reseated", "slot:nowhere"), "no place here"),
        (("--answer", "jack:NONE=plugged in"), "no place here"),
        (("--cannot", "banana"), "rules out no step"),
        (("--cannot", "no spare: banana"), "no kind of part"),
        (("--can", "banana"), "rules out no step"),
        (("--probes", "memmory"), "did you mean memory?"),
        (("--readings", "x"), "--readings goes with"),
    ],
)
def test_a_run_is_not_made_for_words_that_name_nothing(
    words: tuple[str, ...], says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is saved, no case is opened."""
    assert says in _refused(capsys, *RUN, *words, "--shop", str(tmp_path))
    assert not _runs(tmp_path)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--cannot", "banana"), "rules out no step"),
        (("--cannot", "no spare: driv"), "did you mean drive?"),
        (("--can", "no spare: drive"), "there is none"),
        (("--spare", "banana"), "no identity of a part"),
    ],
)
def test_a_note_of_nothing_is_refused(
    words: tuple[str, ...], says: str, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (_folder(shop) / "case.json").read_bytes()
    assert says in _refused(capsys, "note", str(_folder(shop)), *words)
    assert (_folder(shop) / "case.json").read_bytes() == before


@pytest.mark.parametrize("option", ["--since", "--until"])
def test_a_date_is_a_date(option: str, shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for wrong in ("banana", "2026-13", "2026-02-30", "26-01-01"):
        assert "is no date" in _refused(capsys, "cases", option, wrong, "--shop", str(shop))
    for right in ("2026", "2026-03", "2026-03-01"):
        assert day(right) == right


def test_every_step_the_engine_proposes_can_be_ruled_out() -> None:
    """As the console writes it, and in the words of the help."""
    for rule in ("no spare: drive", "no spare: memory module", "no known-good machine", "reseat",
                 "reseat: slot:0000:00:1c.0", "longer soak: machine",
                 "repair installed system: software"):  # fmt: skip
        assert step_rule(rule, TABLES) == rule
    assert identity("serial:X 1") == "serial:X 1"
    with pytest.raises(UsageError):
        identity("X1")


def test_near_misses() -> None:
    """The nearest one alone; else what there is, as far as it can be read."""
    assert near("memmory", ["memory", "storage"]) == "; did you mean memory?"
    assert near("x", ["memory", "storage"]) == "; there are: memory, storage"
    assert near("x", []) == "; there is none"
    assert near("zz", [f"a{n:03}" for n in range(20)]).endswith("and 8 more")


def test_a_file_that_cannot_be_written_is_not_blamed_on_the_shop_drive(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Another file is advised where the command has no drive to name."""
    for words in (("capture", "/nonexistent/x"), ("guide", "--to", "/nonexistent/x"),
                  ("report", str(_folder(shop)), "--to", "/nonexistent/x"),
                  ("parts", str(_folder(shop)), "--to", "/nonexistent/x")):  # fmt: skip
        said = _refused(capsys, *words, status=3)
        assert "name another file" in said
        assert "--shop" not in said


def test_messages_name_the_program_once(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (("frobnicate",), ("run", "--complaint", "haunted"), ("locate",)):
        said = _refused(capsys, *words)
        assert said.count("livecheck:") == 1


def test_without_a_terminal_there_is_no_console(tmp_path: Path) -> None:
    """It says so and ends; nothing but the message is written."""
    done = subprocess.run(
        [sys.executable, "-m", "livecheck"], stdin=subprocess.DEVNULL, capture_output=True,
        text=True, timeout=60, check=False, cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stdout == ""
    assert "needs a terminal" in done.stderr
    assert "\x1b" not in done.stderr


def test_the_guide_leaves_no_file_behind(tmp_path: Path) -> None:
    """Without --to the page goes to standard output; a terminal is told what to do instead."""
    done = subprocess.run(
        [sys.executable, "-m", "livecheck", "guide"], capture_output=True, text=True,
        timeout=60, check=True, cwd=tmp_path,
    )  # fmt: skip
    assert done.stdout.lstrip().lower().startswith("<!doctype html>")
    assert not list(tmp_path.iterdir())
    leader, follower = pty.openpty()
    told = subprocess.run(
        [sys.executable, "-m", "livecheck", "guide"], stdout=follower, stderr=subprocess.PIPE,
        text=True, timeout=60, check=False, cwd=tmp_path,
    )  # fmt: skip
    os.close(leader)
    os.close(follower)
    assert told.returncode == 2
    assert "--to FILE" in told.stderr


def test_what_was_mended_is_named_once_and_only_what_is_meant(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of two that a kind means these two are listed, and of none the near one is named."""
    source = str(FOLDER / "drive-2.capture.gz")
    words = ["run", "--from", source, "--ticket", "77", "--shop", str(shop)]
    assert cli.main(words) == 0
    capsys.readouterr()
    outcome = ("outcome", str(_folder(shop)), "--proved", "yes", "--unit")
    said = _refused(capsys, *outcome, "drive")
    assert said.count("drive:") == 2 and "mainboard" not in said
    said = _refused(capsys, *outcome, "mainbord")
    assert "did you mean mainboard?" in said and "there are" not in said
