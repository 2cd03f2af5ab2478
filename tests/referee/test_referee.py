"""The record format and ``locate --json`` are a contract a program of someone else can keep."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.referee.bench import FAULTS, Bench, Json
from tests.referee.player import Player

HERE = Path(__file__).parent


def _seed(name: str) -> int:
    return next(seed for seed in range(500) if Bench(seed).fault.name == name)


def _player(tmp_path: Path, name: str) -> Player:
    return Player(tmp_path / "livecheck-cases" / "case", Bench(_seed(name)))


def test_the_referee_imports_nothing_of_the_program() -> None:
    for path in HERE.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not any(name.split(".")[0] == "livecheck" for name in names), path


@pytest.mark.parametrize("name", ["worn drive", "drive contact", "dead card"])
def test_a_case_is_played_to_a_cure_through_files_alone(tmp_path: Path, name: str) -> None:
    ended = _player(tmp_path, name).play()
    assert ended.cured
    assert ended.wrong == 0


def test_a_sound_machine_is_played_to_its_end_with_nothing_bought(tmp_path: Path) -> None:
    assert _player(tmp_path, "nothing").play().bought == ()


def test_every_kind_of_fault_is_met_and_shown() -> None:
    for fault in FAULTS:
        run = Bench(_seed(fault.name)).run(1)
        failed = [r for r in run["readings"] if r["outcome"] == "failed"]
        assert bool(failed) == bool(fault.seat)


def test_fields_of_another_program_do_no_harm(tmp_path: Path) -> None:
    player = _player(tmp_path, "cracked port")
    before = player.locate()
    _change(player, lambda run: run | {"their_own": {"weather": "fair"}})
    assert player.locate() == before


def test_a_run_that_lacks_a_field_is_said_with_its_number(tmp_path: Path) -> None:
    player = _player(tmp_path, "cracked port")
    player.look()
    _change(player, lambda run: {k: v for k, v in run.items() if k != "started"})
    done = _livecheck("locate", str(player.folder), "--json")
    assert "run 2" in done.stderr
    assert "started" in done.stderr
    assert json.loads(done.stdout)["runs"] == 1


def test_a_damaged_run_among_five_is_said_on_screen_and_page(tmp_path: Path) -> None:
    """Hard case 17: skipped, and said where the technician looks."""
    player = _player(tmp_path, "cracked port")
    for _ in range(4):
        player.look()
    _change(player, lambda run: {})
    page = tmp_path / "page.html"
    shown = _livecheck("locate", str(player.folder))
    assert "run 5" in shown.stdout.lower()
    _livecheck("report", str(player.folder), "--to", str(page))
    assert "run 5" in page.read_text(encoding="utf-8").lower()


def _livecheck(*words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "livecheck", *words]
    return subprocess.run(command, capture_output=True, text=True, check=True)


def _change(player: Player, change: Callable[[Json], Json]) -> None:
    path = player.folder / "runs" / f"{player.number:04d}" / "run.json"
    run: Json = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps(change(run)), encoding="utf-8")
