"""One world held: its figures are the same in every case, a machine's own chances are not."""

from __future__ import annotations

import json
import random
import sys
from pathlib import Path

import pytest

from livecheck import knowledge
from livecheck.records import encode
from tests.simulation.confirmed import Shelf, confirmed, mistaken
from tests.simulation.learning import Judged, gained, main, scores
from tests.simulation.worlds.held import HeldWorld, OneShop
from tests.simulation.worlds.technician import Technician

TABLES = knowledge.load()


def test_a_world_is_held_over_its_cases() -> None:
    one, other = HeldWorld(1, 10), HeldWorld(1, 11)
    check = "storage.read-errors"
    assert one.detect("worn medium", check, 0.5) == other.detect("worn medium", check, 0.5)
    assert one.alarm(check, 0.02) == other.alarm(check, 0.02)
    assert one.habits == other.habits
    assert one.own("stays/x/drive") != other.own("stays/x/drive")
    assert HeldWorld(2, 10).alarm(check, 0.02) != one.alarm(check, 0.02)


def test_a_machine_of_a_world_of_its_own_is_what_it_was() -> None:
    """Of a world that is its own seed's all figures but the tilt of kinds are as before."""
    alone = Technician(77, TABLES)
    held = HeldWorld(77, 77)
    for name in ("detect/a/b", "stays/a/b", "trait/c"):
        assert held.own(name) == alone.world.own(name)


def test_confirmed_cases_name_what_the_engine_could_have_named() -> None:
    cases = Shelf(1, 5, 1).cases(40, TABLES, None)
    assert [encode(c.proved) for c in cases] == [
        encode(c.proved) for c in Shelf(1, 5, 1).cases(40, TABLES, None)
    ]
    sound = [c for c in cases if c.proved.component == "no-fault"]
    assert 0 < len(sound) < 15
    assert len({c.proved.kind for c in cases}) > 8
    dice = random.Random(1)
    wrong = [mistaken(c, dice, TABLES) for c in cases]
    assert all(w.proved.component != c.proved.component for w, c in zip(wrong, cases, strict=True))
    assert all(w.runs == c.runs for w, c in zip(wrong, cases, strict=True))


def test_what_no_table_has_proves_nothing() -> None:
    machines = [OneShop(1, seed, TABLES) for seed in range(600)]
    unknown = [m for m in machines if m.types() and m.types()[0][1] == "unknown"]
    assert unknown
    assert all(confirmed(machine, "x", 1) is None for machine in unknown)


def test_a_shop_with_few_cases_is_scored_as_it_started(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The whole harness, twice: made anew, and from what was kept."""
    words = [
        "learning",
        "--cases",
        "2,3",
        "--scored",
        "4",
        "--false",
        "0.5",
        "--keep",
        str(tmp_path),
    ]
    monkeypatch.setattr(sys, "argv", words)
    said = []
    for _ in range(2):
        assert main() == 0
        said.append(json.loads(capsys.readouterr().out))
    assert said[0] == said[1]
    few = said[0]["3 cases"]
    assert few["used"] is False
    assert few["gain"] == 0.0
    assert {name: few[name] for name in said[0]["table"]} == said[0]["table"]


def test_scores_by_hand() -> None:
    said = [Judged(0.8, True, 0.8), Judged(0.1, False, 0.6)]
    assert scores(said) == {
        "isolated": 0.5,
        "stated": 0.7,
        "log_score": -1.2629,
        "calibration_error": 0.4,
    }
    better = [Judged(0.8, True, 0.8), Judged(0.2, False, 0.6)]
    assert gained(said, better) == {"gain": 0.3466, "standard_error": 0.3466}
