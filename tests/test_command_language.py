"""Commands in the language of the shop, or the one that is asked for: words alone differ."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from livecheck import demo, languages
from livecheck.cli import main
from tests.console.blind.test_languages import ENGLISH, THEIRS_TOO

CAPTURE = Path(demo.__file__).parent / "port-1.capture.gz"
RUN = ("run", "--from", str(CAPTURE), "--complaint", "slow", "--ticket", "7", "--probes", "storage")


def _english(said: str) -> list[str]:
    """Lines that hold words of English."""
    return [line for line in said.splitlines()
            if {word.lower() for word in ENGLISH.findall(line)} - THEIRS_TOO]  # fmt: skip


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
@pytest.mark.parametrize("asked", [True, False], ids=["option", "shop"])
def test_a_run_and_its_case_are_told_in_it(
    language: str, asked: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    option: tuple[str, ...] = ("--language", language)
    if not asked:
        option = ()
        (tmp_path / "shop.toml").write_text(f'[shop]\nlanguage = "{language}"\n', "utf-8")
    shop = ("--shop", str(tmp_path))
    assert main([*option, *RUN, *shop]) == 0
    case = str(next(tmp_path.rglob("case.json")).parent)
    assert main([*option, "locate", case, *shop]) == 0
    assert main([*option, "cases", *shop]) == 0
    assert main([*option, "tree", case, *shop]) == 0
    assert main([*option, "run", *shop, "--case", "nothing-here", *RUN[1:3]]) in (2, 3)
    told = capsys.readouterr()
    assert not _english(told.out), "\n".join(_english(told.out))
    assert not _english(told.err), "\n".join(_english(told.err))


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_programs_read_the_same(
    language: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """JSON, and what is saved: names of files, times and ids of runs apart."""
    came: list[object] = []
    for spoken in (languages.ENGLISH, language):
        folder = tmp_path / spoken
        folder.mkdir()
        assert main(["--language", spoken, *RUN, "--json", "--shop", str(folder)]) == 0
        found = json.loads(capsys.readouterr().out)
        readings = [(one["check"], one.get("says")) for one in found["run"]["readings"]]
        came.append((found["location"], readings, sorted(found)))
        saved = next(folder.rglob("run.json")).read_text("utf-8")
        assert re.search("The drive rates itself healthy", saved)
    assert came[0] == came[1]
