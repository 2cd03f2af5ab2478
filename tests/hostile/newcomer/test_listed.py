"""The list of attacks and the tests of this folder tell of the same things."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

HERE = Path(__file__).parent


def test_every_attack_has_a_test_and_every_test_its_attack() -> None:
    listed = set(tomllib.loads((HERE / "attacks.toml").read_text("utf-8")))
    tests = (file.read_text("utf-8") for file in HERE.glob("test_*.py"))
    begins = (begin for words in tests for begin in re.findall(r'"""((?:[A-Z]\d\d[,:] ?)+)', words))
    told = {name for begin in begins for name in re.findall(r"[A-Z]\d\d", begin)}
    assert told <= listed
    assert listed - told == set(), "not tried yet"
