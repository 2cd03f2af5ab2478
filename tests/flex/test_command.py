"""``livecheck flex``: headless with --json, saved into the case, large letters."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from livecheck import bigtext, cli, live_host
from livecheck.records import Outcome, PartIs, Run, decode
from tests.flex.test_counter import Jack


@pytest.fixture
def jack(monkeypatch: pytest.MonkeyPatch) -> Jack:
    """The command's machine: losses at 2 and 4 s."""
    made = Jack([(2.0, 0.07), (4.0, 0.5)])
    monkeypatch.setattr(live_host, "LiveHost", lambda: made)
    return made


def test_headless(jack: Jack, capsys: pytest.CaptureFixture[str]) -> None:
    """One JSON object on standard output; every change a line on standard error."""
    assert cli.main(["flex", "--seconds", "12", "--json", "--no-save"]) == 0
    out, err = capsys.readouterr()
    found = json.loads(out)["flex"]
    assert len(found["losses"]) == 2
    assert found["losses"][1]["seconds"] == pytest.approx(0.5, abs=0.04)
    assert found["longest_gap"] < 0.03
    assert "CAUTION" in err and err.count("NO POWER") == 2 and err.count("\a") == 2


def test_saved(jack: Jack, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The reading stands in a run of the case, the known-good adapter by its name."""
    words = ["flex", "--seconds", "12", "--json", "--shop", str(tmp_path)]
    assert cli.main([*words, "--adapter", "bench spare", "--known-good"]) == 0
    told = json.loads(capsys.readouterr().out)
    run = decode(next(Path(told["case"]).glob("runs/*/run.json")).read_bytes(), Run)
    (reading,) = (r for r in run.readings if r.check == "power.flex-losses")
    assert reading.outcome is Outcome.FAILED and reading.value == 2
    assert reading.at == "adapter@jack:ADP1"
    (told,) = run.answers
    assert told == PartIs(place="jack:ADP1", name="bench spare", known_good=True)


def test_compared_with_a_known_good_adapter(
    jack: Jack,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Five losses, then none with the spare: the adapter; two runs of one case are kept."""

    class Technician:
        def isatty(self) -> bool:
            return True

        def readline(self) -> str:
            jack.losses = []
            return "\n"

    jack.losses = [(1.0 + 2 * k, 0.2) for k in range(5)]
    monkeypatch.setattr("sys.stdin", Technician())
    assert cli.main(["flex", "--seconds", "12", "--compare", "--shop", str(tmp_path)]) == 0
    assert "At fault: adapter." in capsys.readouterr().out
    runs = sorted(tmp_path.glob("livecheck-cases/*/runs/*/run.json"))
    first, second = (json.loads(r.read_text("utf-8")) for r in runs)
    assert not first["answers"]
    assert [told["known_good"] for told in second["answers"]] == [True]


@pytest.mark.parametrize(
    ("words", "status"),
    [(["flex"], 2), (["flex", "--seconds", "2", "--supply", "AC9"], 3)],
)
def test_what_cannot_be_done(jack: Jack, words: list[str], status: int) -> None:
    """Nobody there to end it; no such jack."""
    assert cli.main(words) == status


def test_without_a_jack(monkeypatch: pytest.MonkeyPatch) -> None:
    from tests.inventory.fake_host import FakeHost

    monkeypatch.setattr(live_host, "LiveHost", FakeHost)
    assert cli.main(["flex", "--seconds", "2"]) == 3


def test_large_words_fit_a_console_of_80_columns() -> None:
    for word in ("POWER", "NO POWER", "999"):
        assert all(len(row) <= 80 for row in bigtext.drawn(word, across=2))
