"""What the console can do, the command line can: ruled-out steps, the tree, the meters."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from livecheck import demo, knowledge
from livecheck.live_host import LiveHost
from livecheck.meters.channels import find
from livecheck.probes.control import SignalControl


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's first case after its first run: nothing is proven yet."""
    folder = tmp_path_factory.mktemp("cases")
    first = next(demo.play(folder, knowledge.load()))
    return Path(first.saved.case_folder)


def _livecheck(*words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "livecheck", *map(str, words)],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


@pytest.mark.slow
def test_a_ruled_out_step_is_not_proposed_and_can_come_back(case: Path) -> None:
    """The step that stands next is ruled out, another one follows; taken back, it stands again."""

    def proposed() -> tuple[str, str]:
        step = json.loads(_livecheck("locate", case, "--json").stdout)["next_step"]
        return step["action"], step["target"]

    before = proposed()
    rule = f"{before[0]}: {before[1]}"
    assert _livecheck("note", case, "--cannot", rule).returncode == 0
    assert proposed() != before
    assert _livecheck("note", case, "--can", rule, "--spare", "serial:X").returncode == 0
    assert proposed() == before
    assert json.loads((case / "case.json").read_bytes())["spares"][-1] == "serial:X"
    assert _livecheck("note", case).returncode == 2


def test_the_tree_has_every_component(case: Path) -> None:
    """Every part of the last run stands in it, in the lines and in the JSON."""
    runs = sorted((case / "runs").iterdir())
    inventory = json.loads((runs[-1] / "run.json").read_bytes())["inventory"]
    whole = json.loads(_livecheck("tree", case, "--json").stdout)
    ids: set[str] = set()

    def walk(node: dict[str, object]) -> None:
        ids.add(node["component"]["id"])  # type: ignore[index]
        for child in node["children"]:  # type: ignore[attr-defined]
            walk(child)

    walk(whole)
    assert {part["id"] for part in inventory["parts"]} <= ids
    printed = _livecheck("tree", case).stdout
    assert printed.startswith("mainboard")
    assert "FAILED" in printed


def test_meters_end_by_themselves_or_say_why_not() -> None:
    """On this machine: samples for the time asked, else what is missing."""
    done = _livecheck("meters", "--seconds", "0.1")
    if find(LiveHost()):
        assert done.returncode == 0
        assert done.stdout.strip()
    else:
        assert done.returncode == 3
        assert "no sensor" in done.stderr


def test_a_signal_deepens_a_run() -> None:
    """SIGRTMIN (signal(7)): from then on active probes go to full depth."""
    import signal

    kept = {n: signal.getsignal(n) for n in (signal.SIGUSR1, signal.SIGUSR2, signal.SIGRTMIN)}
    try:
        control = SignalControl()
        assert not control.deepened()
        os.kill(os.getpid(), signal.SIGRTMIN)
        assert control.deepened()
    finally:
        for number, handler in kept.items():
            signal.signal(number, handler)


def test_what_the_checks_cannot_part_is_told_with_what_would(case: Path) -> None:
    """By the case's own complaint, or by another one; as lines and as JSON."""
    told = _livecheck("checks", "--machine", case, "--complaint", "not-charging")
    assert told.returncode == 0, told.stderr
    group = next(part for part in told.stdout.split("\n\n") if "adapter" in part)
    assert "power jack" in group and "swap" in group and "jack conduct" in group
    groups = json.loads(_livecheck("checks", "--machine", case, "--json").stdout)
    assert groups and all(len(group["units"]) > 1 for group in groups)
    assert _livecheck("checks", "--machine", case / "none").returncode != 0
