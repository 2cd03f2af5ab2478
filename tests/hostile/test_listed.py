"""Each list of attacks and the tests of its folder tell of the same things."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

LISTS = sorted(Path(__file__).parent.glob("*/attacks.toml"))


@pytest.mark.parametrize("attacks", LISTS, ids=lambda attacks: attacks.parent.name)
def test_every_attack_has_a_test_and_every_test_its_attack(attacks: Path) -> None:
    listed = set(tomllib.loads(attacks.read_text("utf-8")))
    tests = (file.read_text("utf-8") for file in attacks.parent.glob("test_*.py"))
    begins = (begin for words in tests for begin in re.findall(r'"""((?:[A-Z]\d\d[,:] ?)+)', words))
    told = {name for begin in begins for name in re.findall(r"[A-Z]\d\d", begin)}
    assert told <= listed
    assert listed - told == set(), "not tried yet"
