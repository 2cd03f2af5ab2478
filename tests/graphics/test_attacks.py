"""What is done to a renderer is found by the live path, and named: attacks.toml."""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from collections import defaultdict
from pathlib import Path
from typing import Any, Final

import msgspec
import pytest

from livecheck.records import Location, Outcome
from tests.graphics.play import CHIP, Played
from tests.graphics.software import needs_mesa

HERE: Final = Path(__file__).parent
ATTACKS: Final[list[dict[str, Any]]] = tomllib.loads(
    (HERE / "attacks.toml").read_text(encoding="utf-8")
)["attack"]
OUTCOMES: Final = {
    "passed": Outcome.PASSED,
    "failed": Outcome.FAILED,
    "unjudged": Outcome.NOT_JUDGED,
}


@pytest.fixture(scope="module", name="library")
def _library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("disturb") / "disturb.so"
    subprocess.run(
        ["gcc", "-shared", "-fPIC", "-O1", "-Wall", "-Werror", "-o", made, HERE / "disturb.c"],
        check=True,
    )
    return made


def played(attack: dict[str, Any], library: Path, folder: Path) -> Played:
    hot = str(folder / "hot") if attack.get("heats") else ""
    environment = {**os.environ, "LD_PRELOAD": str(library), "HOT": hot}
    if "disturb" in attack:
        environment["DISTURB"] = attack["disturb"]
    done = subprocess.run(
        [sys.executable, "-m", "tests.graphics.play", hot, "12"],
        env=environment, stdout=subprocess.PIPE, check=True, timeout=180,
    )  # fmt: skip
    return msgspec.json.decode(done.stdout, type=Played)


@needs_mesa
@pytest.mark.slow
@pytest.mark.parametrize("attack", ATTACKS, ids=lambda attack: attack["name"])
def test_an_attack(attack: dict[str, Any], library: Path, tmp_path: Path) -> None:
    came = played(attack, library, tmp_path)
    found = {r.check: r for r in came.run.readings if r.check.startswith("display.")}
    for word, outcome in OUTCOMES.items():
        for check in attack.get(word, ()):
            assert found[check].outcome is outcome, (check, found[check])
            assert found[check].at == CHIP
    failed = {c for c, r in found.items() if r.outcome is Outcome.FAILED}
    assert failed == set(attack.get("failed", ()))
    (ended,) = [p for p in came.run.probes if p.probe == "display-load"]
    assert ended.ended == "done", "a hang, a dead driver cost a reading, and not the probe"
    if failed:
        assert _likeliest_unit(came.verdict) == "mainboard", came.verdict.sentence


def _likeliest_unit(verdict: Location) -> str:
    """What would be ordered: a graphics chip is part of the mainboard (shared/components.toml)."""
    units: defaultdict[str, float] = defaultdict(float)
    for one in verdict.candidates:
        units[one.unit] += one.probability
    return max(units, key=lambda unit: units[unit])
