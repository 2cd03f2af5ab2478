"""What a step is called: by what is done, not by the kind of step. Common practice, no source."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from livecheck import cli, knowledge
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import NextStep
from livecheck.step_names import action as called
from tests.bench_stories import odd_beds
from tests.testbeds.build_demo import contents


@pytest.mark.parametrize(
    ("action", "target", "checks", "words"),
    [
        (Action.MEASURE, "machine", ("bench.lid-picture",), "check by hand"),
        (Action.MEASURE, "machine", ("bench.external-screen", "bench.code-board"), "check by hand"),
        (Action.MEASURE, "machine", ("bench.rail-resistance",), "external measurement"),
        (Action.MEASURE, "machine", ("bench.jack-loose", "bench.jack"), "external measurement"),
        (Action.REFLASH, "firmware", (), "re-flash firmware"),
        (Action.REFLASH, "drive:X", (), "update firmware"),
        (Action.RESEAT, "machine", (), "reseat"),
    ],
)
def test_a_look_is_no_measurement(
    action: Action, target: str, checks: tuple[str, ...], words: str
) -> None:
    step = NextStep(action=action, target=target, minutes=3.0, why="", outcomes=(), checks=checks)
    assert called(step, knowledge.load()) == words


@pytest.mark.slow
def test_what_is_soldered_goes_with_its_board(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One name of it on all that is printed and written: no drive is replaced in its place."""
    file = tmp_path / "bed.capture.gz"
    file.write_bytes(gzip.compress(contents(odd_beds.emmc_worn()), 1, mtime=0))
    assert (
        cli.main(["run", "--complaint", "slow", "--from", str(file), "--shop", str(tmp_path)]) == 0
    )
    told = " ".join(capsys.readouterr().out.split())
    (page,) = tmp_path.glob("livecheck-cases/*/report.html")
    for words in (told, " ".join(page.read_text("utf-8").replace("<bdi>", "").split())):
        assert "replace: mainboard, with MMC OS64G1 soldered to it" in words
        assert "replace: drive" not in words
        assert "in place of MMC" not in words
        assert "libata" not in words
        assert "re-flash" not in words
