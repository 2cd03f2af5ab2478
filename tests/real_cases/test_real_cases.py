"""Public fault cases through the live path: no class of the score falls behind what was reached.

The threads' addresses stand in the case files. ``score.json`` beside each set is the output of
``python -m tests.real_cases --json``, with ``--second``, ``--third`` and so on for
the others; write it anew when the score has risen. ``kept.json`` holds the totals of all sets with
``--kept``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

import msgspec
import pytest

from livecheck import knowledge
from tests.real_cases import cases, score
from tests.real_cases.score import Judged, Share

SETS: Final = (cases.HERE, *cases.LATER)
FEWER_IS_BETTER: Final = frozenset(
    {"confidently wrong", "wrong units above 0.9", "sound machines with a part above 0.3"}
)


class Reached(msgspec.Struct):
    """What the score file holds."""

    totals: dict[str, dict[str, Share]]


pytestmark = pytest.mark.slow


Set = tuple[Path, list[Judged]]


@pytest.fixture(scope="module", params=SETS, ids=lambda folder: folder.name)
def judged(request: pytest.FixtureRequest) -> Set:
    """Every case of a set, played and judged."""
    tables = knowledge.load()
    return request.param, [score.judge(case, tables) for case in cases.load(request.param)]


def test_no_class_of_the_score_falls(judged: Set) -> None:
    """Each class is at least as good as the score file says, over as many cases."""
    folder, members = judged
    assert _fallen(members, folder / "score.json") == []


def test_no_class_falls_where_the_lines_are_the_installed_systems() -> None:
    """The threads of all sets, read from saved logs, with a look that finds nothing."""
    tables = knowledge.load()
    every = [case for folder in SETS for case in cases.load(folder)]
    members = [score.judge_kept(case, tables) for case in every]
    assert _fallen(members, cases.HERE / "kept.json") == []


def _fallen(members: list[Judged], file: Path) -> list[str]:
    """Classes of the score that are worse than the file says."""
    reached = msgspec.json.decode(file.read_bytes(), type=Reached).totals
    worse = []
    for group, shares in score.totals(members).items():
        for what, now in shares.items():
            then = reached[group][what]
            assert now.of >= then.of, f"{group}: {what}: cases are missing"
            lost = now.count > then.count if what in FEWER_IS_BETTER else now.count < then.count
            if lost:
                worse.append(f"{group}: {what}: {now.count} of {now.of}, was {then.count}")
    return worse


def test_nothing_is_said_wrongly_with_confidence(judged: Set) -> None:
    """No thread's outcome is contradicted above 0.9, whatever the score file says."""
    assert [one.name for one in judged[1] if one.surely_wrong or one.wrong_unit] == []


def test_the_score_can_fail() -> None:
    """A line expected of another layer, and a side nobody may name, are counted as wrong."""
    case = next(one for one in cases.load() if one.name == "storage/25")
    line = msgspec.structs.replace(case.runs[0].lines[0], layers=frozenset({"link"}))
    run = msgspec.structs.replace(case.runs[0], lines=(line,))
    wrong = msgspec.structs.replace(case, runs=(run,), sides=frozenset({"software"}))
    found = score.judge(wrong, knowledge.load())
    assert len(found.wrong_layers) == 1
    assert not found.right
    assert found.surely_wrong
    assert found.wrong_unit
