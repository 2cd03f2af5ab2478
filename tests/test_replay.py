"""This machine recorded and replayed: the same inventory, the same passive readings.

Outside source: the machine itself, read live by a run of its own.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest


def _json(*words: str | Path) -> dict[str, Any]:
    command = [sys.executable, "-m", "livecheck", *map(str, words)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=300)
    result: dict[str, Any] = json.loads(done.stdout)
    return result


@pytest.mark.slow
def test_a_replay_is_this_machine(tmp_path: Path) -> None:
    """``capture`` then ``run --from``: what a live run gives, but for figures that move."""
    for name in ("live", "replayed"):
        (tmp_path / name).mkdir()
    file = tmp_path / "machine.capture.gz"
    subprocess.run([sys.executable, "-m", "livecheck", "capture", file], check=True, timeout=300)
    words = ("run", "--probes", "passive", "--json")
    live = _json(*words, "--shop", tmp_path / "live")
    replayed = _json(*words, "--from", file, "--shop", tmp_path / "replayed")
    assert replayed["run"]["inventory"] == live["run"]["inventory"]
    assert replayed["devices"] == live["devices"]

    def judged(result: dict[str, Any]) -> list[tuple[str, str, str]]:
        return [(r["check"], r["at"], r["outcome"]) for r in result["run"]["readings"]]

    assert judged(live), "this machine gave no reading: the test would prove nothing"
    assert judged(replayed) == judged(live)
    assert replayed["run"]["not_tested"] == live["run"]["not_tested"]
