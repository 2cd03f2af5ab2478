"""A run taken out of its case: kept as it was, told, not judged, and put back as it was."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from livecheck import cli, demo
from livecheck.casefile import CaseFolder, Shop

FOLDER = Path(demo.__file__).parent


def replay(shop: Path, name: str, *more: str) -> Path:
    source = str(FOLDER / f"{name}.capture.gz")
    words = ["run", "--from", source, "--ticket", "77", "--complaint", "slow", "--shop", str(shop)]
    assert cli.main([*words, *more]) == 0
    return Path(Shop(shop).entries()[0].path)


def located(case: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    capsys.readouterr()
    assert cli.main(["locate", str(case), "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


@pytest.mark.slow
def test_it_is_kept_and_judged_as_if_it_had_not_been(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = replay(tmp_path, "drive-1")
    alone = located(case, capsys)
    replay(tmp_path, "drive-2")
    both = located(case, capsys)
    record = CaseFolder(case).run_file(2)
    saved = record.read_bytes()
    assert cli.main(["take-out", str(case), "2", "--why", "it was another laptop"]) == 0
    assert "run 2 was taken out" in capsys.readouterr().out
    assert located(case, capsys) == alone != both
    assert record.read_bytes() == saved
    assert "it was another laptop" in (case / "report.html").read_text("utf-8")
    replay(tmp_path, "drive-2")
    assert CaseFolder(case).run_numbers() == (1, 2, 3)
    assert cli.main(["take-out", str(case), "3", "--why", "a slip"]) == 0
    assert cli.main(["take-out", str(case), "2", "--put-back"]) == 0
    assert located(case, capsys) == both
    assert CaseFolder(case).case().taken_out[0].run == 3


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        (["9", "--why", "x"], 3, "has no run 9 (its runs: 1)"),
        (["1", "--put-back"], 3, "was not taken out"),
        (["1"], 2, "--why WORDS"),
        (["1", "--why", " "], 2, "--why WORDS"),
        (["1", "--why", "x", "--put-back"], 2, "--put-back"),
    ],
)
def test_what_makes_no_sense_changes_nothing(
    words: list[str], status: int, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = replay(tmp_path, "drive-1")
    before = CaseFolder(case).case()
    capsys.readouterr()
    assert cli.main(["take-out", str(case), *words]) == status
    assert says in capsys.readouterr().err
    assert CaseFolder(case).case() == before


def test_a_case_without_any_run_left_is_still_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = replay(tmp_path, "drive-1")
    capsys.readouterr()
    assert cli.main(["take-out", str(case), "1", "--why", "it was another laptop"]) == 0
    assert "run 1 was taken out" in capsys.readouterr().out
