"""What one case says: from runs as a machine came, read by the engine, and a recorded outcome."""

from __future__ import annotations

import msgspec
import pytest

from livecheck import knowledge
from livecheck.learning.lessons import SHOWS, Taught, as_it_came, lesson
from livecheck.records import (
    BoardReplaced,
    Complaint,
    ComplaintShows,
    Outcome,
    Proved,
    Run,
    WhereShown,
)
from tests import factories

TABLES = knowledge.load()
RUNS = factories.three_runs()
FIRST = RUNS[0]
DRIVE = FIRST.inventory.parts[0].id


def proved(component: str, kind: str = "drive") -> Proved:
    return Proved(case="c", recorded="1", component=component, kind=kind, proved=True,
                  complaint=Complaint.PART_MISSING)  # fmt: skip


def again(number: int, **changes: object) -> Run:
    return msgspec.structs.replace(FIRST, number=number, **changes)


@pytest.mark.parametrize(
    "change",
    [
        {"reseated": ("p",)},
        {"known_good": ("p",)},
        {"in_known_good_machine": True},
        {"answers": (BoardReplaced(),)},
    ],
)
def test_runs_count_until_something_was_done_by_hand(change: dict[str, object]) -> None:
    looked = again(2, answers=(ComplaintShows(where=WhereShown.INSIDE),))
    runs = (again(4), FIRST, looked, again(3, **change))
    assert [run.number for run in as_it_came(runs)] == [1, 2]


def test_a_part_that_was_not_there_before_ends_it() -> None:
    assert len({frozenset(p.id for p in run.inventory.parts) for run in RUNS}) > 1
    kept = as_it_came(RUNS)
    seen = {part.id for part in kept[0].inventory.parts}
    assert all({part.id for part in run.inventory.parts} <= seen for run in kept)


def test_a_fault_s_own_checks_are_tried_and_others_may_only_alarm() -> None:
    found = lesson(Taught(proved=proved(DRIVE), runs=(FIRST,)), TABLES)
    assert found is not None
    assert found.found == {"drive": 1.0}
    tables = {trial.figure for trial in found.trials}
    at_drive = {r.check for r in FIRST.readings if r.at == DRIVE}
    shown = {name.split()[0] for table, name in tables if table == SHOWS}
    assert shown & at_drive
    alarmed = {name for table, name in tables if table == "alarm"}
    assert not alarmed & at_drive
    assert alarmed


def test_readings_of_one_check_are_one_trial() -> None:
    """Three looks, of which one failed: a third of a failure, in one case."""
    check = next(r for r in FIRST.readings if r.at == DRIVE and r.check in TABLES.checks)
    rest = tuple(r for r in FIRST.readings if r is not check)
    looks = [
        again(
            number,
            readings=(*rest, msgspec.structs.replace(check, outcome=outcome)),
        )
        for number, outcome in ((1, Outcome.FAILED), (2, Outcome.PASSED), (3, Outcome.PASSED))
    ]
    found = lesson(Taught(proved=proved(DRIVE), runs=tuple(looks)), TABLES)
    assert found is not None
    (trial,) = [t for t in found.trials if t.figure[1].startswith(f"{check.check} ")]
    assert trial.failed == pytest.approx(1 / 3)
    assert trial.counts <= 1.0


def test_a_unit_s_components_share_what_it_proved() -> None:
    """A new board tells that it was the board; which of its places it was stays open."""
    found = lesson(Taught(proved=proved("mainboard", "mainboard"), runs=(FIRST,)), TABLES)
    assert found is not None
    assert sum(found.found.values()) == pytest.approx(1.0)
    assert len(found.found) > 2


def test_an_absurd_outcome_is_not_believed_and_an_unlikely_one_is() -> None:
    """Believed with (1-e)·p / ((1-e)·p + e/units), by Bayes; e from the table, and as many units
    for every outcome of a case.
    """
    outcomes = (DRIVE, "firmware", "no-fault")
    said = [lesson(Taught(proved=proved(one), runs=(FIRST,)), TABLES) for one in outcomes]
    known = [one for one in said if one is not None]
    assert len(known) == len(outcomes)
    false = TABLES.model.false_outcomes.value
    odds = [one.believed / (1.0 - one.believed) for one in known]
    units = [o * false / ((1.0 - false) * one.given) for o, one in zip(odds, known, strict=True)]
    assert units == pytest.approx([round(units[0])] * len(units))
    assert known[0].believed > 0.9
    assert known[0].believed > known[1].believed
    assert known[0].believed > known[2].believed


@pytest.mark.parametrize(
    "taught",
    [
        Taught(proved=proved("a part no run knows"), runs=(FIRST,)),
        Taught(proved=proved(DRIVE), runs=()),
        Taught(proved=proved(DRIVE), runs=(again(1, reseated=("p",)),)),
    ],
)
def test_what_no_run_knows_teaches_nothing(taught: Taught) -> None:
    assert lesson(taught, TABLES) is None
