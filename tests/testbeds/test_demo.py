"""The demonstration's captures are what the script builds, and tell what they should."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from livecheck import demo, knowledge
from livecheck.records import Location, Side
from tests.testbeds import build_demo
from tests.testbeds.stories import RUNS


@pytest.mark.parametrize("name", RUNS)
def test_captures_are_fresh(name: str) -> None:
    """Built again, a capture says the same; else run ``python -m tests.remake captures``."""
    kept = gzip.decompress((build_demo.FOLDER / f"{name}.capture.gz").read_bytes())
    assert kept == build_demo.contents(RUNS[name]())


def test_stories_use_every_capture() -> None:
    # A run may be a machine seen before: the drive is back where it was.
    told = list(dict.fromkeys(run.capture for story in demo.stories() for run in story.runs))
    assert told == [f"{name}.capture.gz" for name in RUNS]


@pytest.fixture(scope="module")
def verdicts(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Location]]:
    """Title of each story -> the location after each of its runs."""
    found: dict[str, list[Location]] = {}
    folder: Path = tmp_path_factory.mktemp("demo")
    for step in demo.play(folder, knowledge.load()):
        found.setdefault(step.title, []).append(step.saved.location)
    return found


def test_verdicts(verdicts: dict[str, list[Location]]) -> None:
    """Port, drive, contact: what each was built to show (the four swap patterns)."""
    port, drive, contact = verdicts.values()
    assert port[0].side is Side.UNDETERMINED
    assert port[-1].sides["controller"] > port[0].sides["controller"]
    assert port[-1].component is not None and "0000:00:17.0" in port[-1].component
    assert drive[-1].side is Side.DEVICE
    assert drive[-1].component == "drive:OSN512K7731"
    assert contact[-1].side is Side.UNDETERMINED
    assert any("contact" in sentence for sentence in contact[-1].explanation)
