"""The update of a chance is the published one, and no single case moves a figure far."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta, dirichlet

from livecheck.learning import update
from livecheck.learning.update import Count

CHANCES = st.floats(0.001, 0.97)


def test_beta_update_of_the_textbook() -> None:
    """Gelman and others, Bayesian Data Analysis, 3rd edition, section 2.4: 437 girls of 980
    births, uniform prior (two pseudo-counts of share 1/2), gives Beta(438, 544), mean 0.446.
    """
    count = Count(worth=2.0, expected=490.0, found=437, cases=980)
    assert 0.5 * count.factor == pytest.approx(beta(438, 544).mean())
    assert round(0.5 * count.factor, 3) == 0.446


@pytest.mark.parametrize("worth", [2, 5, 10, 20, 100, 200])
def test_beta_update_with_a_prior_worth_some_cases(worth: int) -> None:
    """The same births with a prior of mean 0.485 worth ``worth`` cases (its table 2.1)."""
    count = Count(worth=float(worth), expected=980 * 0.485, found=437, cases=980)
    posterior = beta(worth * 0.485 + 437, worth * 0.515 + 543)
    assert 0.485 * count.factor == pytest.approx(posterior.mean())


def test_dirichlet_update_of_the_textbook() -> None:
    """Section 3.4 of the same: 727, 583 and 137 of 1447 answers, uniform prior (three
    pseudo-counts of share 1/3), gives Dirichlet(728, 584, 138).
    """
    counts = [Count(worth=3.0, expected=1447 / 3, found=n, cases=1447) for n in (727, 583, 137)]
    means = [count.factor / 3 for count in counts]
    assert means == pytest.approx(list(dirichlet([728, 584, 138]).mean()))
    assert sum(means) == pytest.approx(1.0)


@given(CHANCES, st.integers(0, 400), st.sampled_from([0.0, 1.0]))
def test_one_odd_case_moves_a_figure_by_a_third_at_most(
    mean: float, cases: int, failed: float
) -> None:
    """Whatever the cases before it were: those that came as the table expects, and one more."""
    worth = update.worth_of(20.0, mean)
    before = Count(worth=worth, expected=cases * mean, found=cases * mean, cases=cases)
    after = Count(
        worth=worth, expected=(cases + 1) * mean, found=cases * mean + failed, cases=cases + 1
    )
    assert before.factor == pytest.approx(1.0)
    assert 0.75 - 1e-9 <= after.factor <= 4.0 / 3.0 + 1e-9
    rest = (1.0 - mean * after.factor) / (1.0 - mean)
    assert 0.75 - 1e-9 <= rest <= 4.0 / 3.0 + 1e-9


@given(CHANCES, CHANCES)
def test_odds_lead_from_one_chance_to_the_other(one: float, other: float) -> None:
    assert update.moved(one, update.odds_ratio(one, other)) == pytest.approx(other)


@given(CHANCES, st.floats(0.0, 1e9))
def test_a_chance_stays_one(chance: float, factor: float) -> None:
    assert 0.0 < update.moved(chance, update.bounded(factor)) < 1.0


@given(st.lists(st.tuples(CHANCES, st.floats(0.1, 5.0)), min_size=1, max_size=8))
def test_the_common_factor_gives_the_sum_that_was_asked_for(
    weighted: list[tuple[float, float]],
) -> None:
    """Within what it may move: the sum of all chances with their odds doubled is met by 2."""
    total = sum(weight * update.moved(chance, 2.0) for chance, weight in weighted)
    assert update.common_factor(weighted, total) == pytest.approx(2.0, rel=1e-4)
    assert update.common_factor(weighted, 1e9) == pytest.approx(update.FARTHEST)
