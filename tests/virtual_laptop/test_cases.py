"""A handful of the cases, played with the image; minutes each."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pytest

from tests.virtual_laptop.play import play
from tests.virtual_laptop.scenarios import BY_NAME

pytestmark = pytest.mark.boot
HANDFUL: Final = ("drive-medium", "sata-port", "bit-in-module")
SURE: Final = 0.9


@pytest.mark.parametrize("name", HANDFUL)
def test_case_comes_to_the_right_side(name: str, image: Path, tmp_path: Path) -> None:
    scenario = BY_NAME[name]
    played = play(image, tmp_path / name, scenario.hidden, scenario.starts)
    found = played.location
    assert (played.writes, played.changed) == (0, ()), "an internal drive was written to"
    assert found["runs"] == len(scenario.starts)
    wrong = [c for c in found["candidates"] if c["side"] not in (scenario.side, "undetermined")]
    assert all(c["probability"] <= SURE for c in wrong), wrong
    assert found["side"] == scenario.side, found["candidates"][:4]
