"""What is learned is held against cases that had no part in it."""

from __future__ import annotations

from math import log, sqrt

import msgspec
import pytest

from livecheck import knowledge
from livecheck.learning import held_out
from livecheck.learning.lessons import Lesson, Taught, lesson
from livecheck.records import HeldOut, Knowledge
from tests.simulation.confirmed import Shelf

TABLES = knowledge.load()
CASES = 45


@pytest.fixture(scope="module", name="cases")
def _cases() -> list[tuple[Taught, Lesson]]:
    made = Shelf(1, 3, 1).cases(CASES, TABLES, None)
    taught = [Taught(proved=case.proved, runs=case.runs) for case in made]
    return [(one, said) for one in taught if (said := lesson(one, TABLES)) is not None]


def test_a_case_is_judged_by_tables_that_do_not_know_it(
    cases: list[tuple[Taught, Lesson]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each judged once, by tables of the cases of the other folds; figures by hand."""
    known: list[tuple[str, int]] = []

    def judged(taught: Taught, tables: Knowledge) -> held_out.Given:
        known.append((taught.proved.case, int(tables.origin.split()[3])))
        return 0.5, True

    monkeypatch.setattr(held_out, "judged", judged)
    found = held_out.held_out(TABLES, cases)
    assert found is not None
    assert sorted(case for case, _ in known) == sorted(one.proved.case for one, _ in cases)
    assert {others for _, others in known} == {len(cases) - len(cases) // held_out.FOLDS}
    logs = [log(max(said.given, held_out.FLOOR)) for _, said in cases]
    gains = [log(0.5) - one for one in logs]
    mean = sum(gains) / len(gains)
    assert found.log_before == pytest.approx(sum(logs) / len(logs))
    assert found.log_after == pytest.approx(log(0.5))
    spread = sqrt(sum((g - mean) ** 2 for g in gains) / (len(gains) - 1) / len(gains))
    assert found.standard_error == pytest.approx(spread)
    assert found.mended - found.spoilt == found.right_after - found.right_before
    assert found.right_after == len(cases)


def test_the_engine_judges_as_it_did_for_the_lesson(cases: list[tuple[Taught, Lesson]]) -> None:
    for taught, said in cases[:3]:
        assert held_out.judged(taught, TABLES) == (said.given, said.likeliest)


def test_cases_of_one_world_teach_something(cases: list[tuple[Taught, Lesson]]) -> None:
    """Judged by the engine, with tables learned from the others of the same world."""
    found = held_out.held_out(TABLES, cases)
    assert found is not None
    assert found.cases == len(cases)
    assert found.log_after > found.log_before


def test_too_few_are_not_judged(cases: list[tuple[Taught, Lesson]]) -> None:
    least = held_out.least_machines(TABLES)
    assert held_out.held_out(TABLES, cases[: least - 8]) is None
    one_machine = [(t, msgspec.structs.replace(s, machine="one")) for t, s in cases]
    assert held_out.held_out(TABLES, one_machine) is None


@pytest.mark.parametrize(
    ("gain", "better"), [(0.19, False), (0.21, True), (0.0, False), (-1.0, False)]
)
def test_two_standard_errors_are_asked_for(gain: float, better: bool) -> None:
    found = HeldOut(cases=100, right_before=50, right_after=60, mended=10, spoilt=0,
                    log_before=-1.0, log_after=-1.0 + gain, standard_error=0.1)  # fmt: skip
    assert held_out.is_better(found) is better
    assert not held_out.is_better(None)
