"""Small steps of the simulated bench that need no machine."""

from __future__ import annotations

import random
from functools import cache
from statistics import NormalDist

from livecheck.knowledge import worksheet as load_worksheet
from livecheck.records import Outcome, Reading

NORMAL = NormalDist()


def weighted(dice: random.Random, weights: dict[str, float]) -> str:
    return dice.choices(list(weights), list(weights.values()))[0]


def told_apart(readings: list[Reading]) -> list[Reading]:
    """The memory test says where wrong words lie, and where not, only when it found some."""
    failed = {r.check for r in readings if r.outcome is Outcome.FAILED}
    told = set()
    if "memory.words" in failed and "memory.module-words" in failed:
        told.add("memory.module-words")
    if "memory.words" in failed and "memory.same-bits" in failed:
        told.add("memory.same-bits")
    follow = {"memory.module-words", "memory.same-bits"} - told
    return [r for r in readings if r.check not in follow]


def read(check: str, at: str, *, failed: bool) -> Reading:
    return Reading(check=check, at=at, outcome=Outcome.FAILED if failed else Outcome.PASSED)


@cache
def bench_rule(check: str) -> str:
    """Where the worksheet takes a check: a name of ``worksheet_machine.WHERE``."""
    rules = (rule for step in load_worksheet().step for rule in step.judge)
    return next((rule.at for rule in rules if rule.check == check), "machine")
