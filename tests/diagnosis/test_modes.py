"""Ways of failing that exclude each other: worked out by hand, and against plain enumeration."""

from __future__ import annotations

from itertools import product

import pytest

from livecheck.diagnosis.factors import Factor
from livecheck.diagnosis.model.fault_modes import ACROSS, MAX_DETECT, Ways, fault_modes
from livecheck.diagnosis.model.posterior import posterior

MODES: tuple[dict[str, float], ...] = ({"medium": 0.6, "silence": 0.25, "link": 0.15}, {})


def factor(name: str, group: str, detects: dict[int, float], failed: bool) -> Factor:
    return Factor(
        members=tuple(detects),
        misses=tuple(1.0 - d for d in detects.values()),
        false_alarm=0.01,
        fails=int(failed),
        passes=int(not failed),
        check=name,
        symptom_group=group,
        read_at="here",
    )


def test_over_all_modes_a_check_shows_as_often_as_the_table_says() -> None:
    rows = fault_modes(Ways(MODES), frozenset({"medium"}))[0]
    for group, detect in (("medium", 0.45), ("silence", 0.2), ("link", 0.15), ("heat", 0.1)):
        assert sum(f.share * f.detect(group, detect) for f in rows) == pytest.approx(detect)
    inside, outside = rows[0].detect("medium", 0.45), rows[1].detect("medium", 0.45)
    assert outside == pytest.approx(ACROSS * inside)


def test_a_drive_s_own_link_shows_no_more_surely_than_its_place() -> None:
    """What the two do together: else the checks that passed would clear the drive alone.

    A check that shows 0.3 of all faults of a drive would show 0.3 / (0.15 + 0.85 * ACROSS)
    = 1.08 of those of its link, were they not as intermittent as the place's (0.25).
    """
    link = fault_modes(Ways(MODES), frozenset({"link"}))[0][2]
    assert link.detect("link", 0.3) == MAX_DETECT
    assert link.detect("link", 0.3, beside=0.25) == 0.25
    assert link.detect("medium", 0.3, beside=0.01) == link.detect("medium", 0.3)

    def odds(passed: int) -> float:
        some = [factor("a", "link", {0: 0.3, 1: 0.25}, True)]
        some += [factor(f"b{n}", "link", {0: 0.3, 1: 0.25}, False) for n in range(passed)]
        found = posterior(some, (1.0, 1.0), (0.1, 0.9), ways=Ways(MODES))
        return found.marginals[0] / found.marginals[1]

    assert odds(6) > odds(0)


def test_a_kind_without_modes_or_readings_of_them_has_one_mode() -> None:
    assert fault_modes(Ways(({}, {"medium": 1.0})), frozenset({"medium"})) == {}
    assert fault_modes(Ways(MODES), frozenset({"heat"})) == {}


def test_posterior_is_the_sum_over_all_modes() -> None:
    """Two components, four checks, every pattern of outcomes, up to both at fault."""
    rows = (
        ("a", "medium", {0: 0.45}),
        ("b", "silence", {0: 0.2, 1: 0.4}),
        ("c", "link", {0: 0.15, 1: 0.5}),
        ("d", "other", {0: 0.3, 1: 0.1}),
    )
    weights, sizes = (2.0, 1.0), (0.2, 0.6, 0.2)
    known = {0: fault_modes(Ways(MODES), frozenset(group for _, group, _ in rows))[0]}
    for outcome in product((True, False), repeat=len(rows)):

        def chance(members: tuple[int, ...], outcome: tuple[bool, ...] = outcome) -> float:
            total = 0.0
            for mode in known[0] if 0 in members else (None,):
                value = 1.0 if mode is None else mode.share
                for failed, (_, group, detects) in zip(outcome, rows, strict=True):
                    missed = 0.99
                    for number in set(members) & set(detects):
                        own = detects[number]
                        missed *= 1 - (
                            mode.detect(group, own, detects.get(1)) if mode and number == 0 else own
                        )
                    value *= 1 - missed if failed else missed
                total += value
            return total

        sets = {(): 0.2, (0,): 0.6 * 2 / 3, (1,): 0.6 / 3, (0, 1): 0.2}
        mass = {members: prior * chance(members) for members, prior in sets.items()}
        whole = sum(mass.values())
        some = [
            factor(name, group, detects, failed)
            for failed, (name, group, detects) in zip(outcome, rows, strict=True)
        ]
        found = posterior(some, weights, sizes, ways=Ways(MODES))
        assert found.none == pytest.approx(mass[()] / whole, abs=1e-9)
        for number in (0, 1):
            expected = sum(m for members, m in mass.items() if number in members) / whole
            assert found.marginals[number] == pytest.approx(expected, abs=1e-9)


def test_signs_of_two_modes_speak_less_for_one_drive_than_two_of_one() -> None:
    def odds(second: str) -> float:
        some = [
            factor("a", "medium", {0: 0.4, 1: 0.2}, True),
            factor("b", second, {0: 0.4, 1: 0.2}, True),
        ]
        found = posterior(some, (1.0, 1.0), (0.1, 0.9), ways=Ways(MODES))
        return found.marginals[0] / found.marginals[1]

    assert odds("medium") > 1.5 * odds("silence")


def test_a_mode_that_two_groups_see_is_shown_in_full_by_both() -> None:
    """A drive that drops out and comes back with a damaged link is one way of failing."""
    shares = {"medium": 0.6, "silence": 0.2, "link": 0.1, "silence link": 0.1}
    rows = fault_modes(Ways((shares,)), frozenset({"silence", "link"}))[0]
    both = rows[3]
    assert both.detect("link", 0.1) == rows[2].detect("link", 0.1)
    assert both.detect("silence", 0.1) == rows[1].detect("silence", 0.1)
    for group, own in (("silence", 0.3), ("link", 0.2)):
        over_all = sum(mode.share * mode.detect(group, 0.1) for mode in rows)
        assert over_all == pytest.approx(0.1)
        assert rows[0].shares[group] == pytest.approx(own)
