"""Figures follow what cases of a known rate show, and nothing moves for a few or for one machine.

The lessons are made by hand: how one is made of a case is ``test_lessons``.
"""

from __future__ import annotations

import random

import msgspec
import pytest
from scipy.stats import beta

from livecheck import knowledge
from livecheck.diagnosis import locate
from livecheck.learning import update
from livecheck.learning.apply import MOST_SHARE, applied
from livecheck.learning.fit import fit
from livecheck.learning.lessons import ALARM, SHOWS, Figure, FigureTried, Lesson, Table
from livecheck.records import Learned
from tests import factories

TABLES = knowledge.load()
LINK, OTHER = "storage.link-errors part", "storage.medium-errors part"
LEAST = int(TABLES.model.least_cases.value)


def trial(figure: Figure, chance: float, failed: bool, scale: float = 1.0) -> FigureTried:
    return FigureTried(
        figure=figure, counts=1.0, chance=chance, scale=scale, other=0.0, failed=float(failed)
    )


def said(number: int, *trials: FigureTried, kind: str = "drive", believed: float = 1.0) -> Lesson:
    return Lesson(
        machine=f"machine {number}",
        given=0.5,
        likeliest=True,
        believed=believed,
        found={kind: 1.0},
        expected={
            "drive": 0.2,
            "battery": 0.8,
            "no-fault": 0.1,
            "software": 0.2,
            "firmware": 0.001,
        },
        trials=trials,
    )


def by_name(rows: tuple[Learned, ...]) -> dict[str, Learned]:
    return {f"{row.table} {row.name}": row for row in rows}


def drawn(rate: float, cases: int, seed: int = 1) -> list[Lesson]:
    dice = random.Random(seed)
    table = 0.6
    return [said(n, trial((SHOWS, LINK), table, dice.random() < rate)) for n in range(cases)]


def test_below_the_least_nothing_moves() -> None:
    assert fit(TABLES, drawn(0.1, LEAST - 1)) == ()
    assert applied(TABLES, (), 3) == TABLES
    assert fit(TABLES, drawn(0.1, LEAST)) != ()


def test_one_machine_counts_once_however_often_it_came_back() -> None:
    """A hundred returns of one machine move what one return of it moves."""
    others = drawn(0.6, LEAST)
    back = said(-1, trial((SHOWS, LINK), 0.6, failed=False))
    assert fit(TABLES, [*others, *[back] * 100]) == fit(TABLES, [*others, back])


def test_a_rate_is_found_again() -> None:
    """Shown in 0.3 of 2,000 cases where the table says 0.6: within two standard deviations."""
    row = by_name(fit(TABLES, drawn(0.3, 2000)))[f"shows {LINK}"]
    odds = 0.6 / 0.4 * row.factor
    assert odds / (1.0 + odds) == pytest.approx(0.3, abs=2 * beta(600, 1400).std() + 0.01)
    assert row.cases == 2000
    assert row.expected == pytest.approx(1200)


def test_a_figure_nothing_was_seen_of_follows_its_shop() -> None:
    """All that was tried showed half as often as the table says; so will the rest, about."""
    rows = fit(TABLES, drawn(0.3, 2000))
    moved = applied(TABLES, rows, 2000)
    unseen = "storage.wear"
    before, after = (t.checks[unseen].blames[0].detect for t in (TABLES, moved))
    assert after < 0.6 * before


def test_a_figure_that_was_seen_little_stays_near_its_shop() -> None:
    lessons = drawn(0.6, 500)
    lessons += [said(1000 + n, trial((SHOWS, OTHER), 0.6, failed=False)) for n in range(3)]
    rows = by_name(fit(TABLES, lessons))
    assert 0.6 < rows[f"shows {OTHER}"].factor < 0.8


def test_a_fault_that_rests_is_no_miss() -> None:
    """With a scale of 0.5 a check that shows in half of the cases is sure."""
    lessons = [said(n, trial((SHOWS, LINK), 0.6, n % 2 == 0, scale=0.5)) for n in range(2000)]
    row = by_name(fit(TABLES, lessons))[f"shows {LINK}"]
    odds = 0.6 / 0.4 * row.factor
    assert odds / (1.0 + odds) > 0.85


def test_what_is_not_believed_does_not_count() -> None:
    lessons = drawn(0.6, 500)
    false = [
        msgspec.structs.replace(
            said(1000 + n, trial((SHOWS, LINK), 0.6, failed=False)), believed=0.01
        )
        for n in range(100)
    ]
    plain, poisoned = (
        by_name(fit(TABLES, some))[f"shows {LINK}"].factor for some in (lessons, lessons + false)
    )
    assert poisoned == pytest.approx(plain, rel=0.02)


@pytest.mark.parametrize("seed", range(8))
def test_one_odd_case_doubles_no_figure_and_halves_none(seed: int) -> None:
    """After the fewest cases that move anything, one more that lies in all it tried, and in which
    a kind nobody ever proved was proved. Chances, and what is left of them, are compared.
    """
    dice = random.Random(seed)
    names: list[tuple[Table, str, float]] = [
        (SHOWS, LINK, 0.6),
        (SHOWS, OTHER, 0.2),
        (ALARM, "storage.wear", 0.03),
        (ALARM, "heat.fan", 0.1),
        (SHOWS, "storage.read-errors part", 0.9),
    ]
    lessons = [
        said(n, *(trial((t, name), p, dice.random() < p) for t, name, p in names[: 3 + n % 3]),
             kind=dice.choice(["drive", "battery"]))
        for n in range(LEAST)
    ]  # fmt: skip
    lie = [trial((t, name), p, seed % 2 == 0) for t, name, p in names]
    before, after = (
        {(r.table, r.name): r.factor for r in fit(TABLES, some)}
        for some in (lessons, [*lessons, said(-1, *lie, kind="firmware")])
    )
    chances: dict[Figure, float] = {(t, name): p for t, name, p in names}
    for key, factor in after.items():
        if key in chances:
            old, new = (update.moved(chances[key], f) for f in (before[key], factor))
            assert 0.5 <= new / old <= 2.0
            assert 0.5 <= (1.0 - new) / (1.0 - old) <= 2.0
        else:
            assert 0.5 <= factor / before[key] <= 2.0


@pytest.mark.parametrize("failed", [False, True])
def test_no_figure_moves_farther_than_it_may(failed: bool) -> None:
    """Ten thousand cases of the same lie: a factor of 5 on the odds, and chances stay chances."""
    lessons = [
        said(n, trial((SHOWS, LINK), 0.6, failed), trial((ALARM, "storage.wear"), 0.03, failed),
             kind="battery")
        for n in range(10_000)
    ]  # fmt: skip
    rows = fit(TABLES, lessons)
    assert all(0.2 <= row.factor <= 5.0 for row in rows)
    moved = applied(TABLES, rows, 10_000)
    chances = [row.detect for check in moved.checks.values() for row in check.blames]
    chances += [check.false_alarm for check in moved.checks.values()]
    assert all(0.0 < chance < 1.0 for chance in chances)
    assert moved.kinds["software"].weight <= MOST_SHARE
    assert locate("x", factories.three_runs(), moved).probability <= 1.0


def test_the_whole_way_to_weights() -> None:
    """Drives proved in 50 of 200 cases with a fault, of which the table expected 40: by hand."""
    lessons = [said(n, kind="drive" if n < 50 else "battery") for n in range(200)]
    rows = fit(TABLES, lessons)
    worth = TABLES.model.table_cases.value
    moved = applied(TABLES, rows, 200)
    hoped = (worth * 0.2 + 50) / (worth * 0.2 + 40)
    assert moved.kinds["drive"].weight / TABLES.kinds["drive"].weight == pytest.approx(
        hoped, rel=1e-3
    )
    # None of 200 was sound, of which 20 were expected.
    none = (worth * 0.1) / (worth * 0.1 + 20)
    assert moved.model.no_fault.value == pytest.approx(TABLES.model.no_fault.value * none, rel=1e-3)
    assert moved.kinds["camera"] == TABLES.kinds["camera"]
    assert moved.origin == "built-in, moved by 200 confirmed cases of this shop"
    assert moved.learned == rows
