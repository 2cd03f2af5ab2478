"""What a run's checks cannot tell apart is what the engine does not tell apart by them."""

from __future__ import annotations

from math import log

import pytest

from livecheck import knowledge
from livecheck.diagnosis.testability import (
    TOLD_APART,
    AmbiguityGroup,
    _apart,
    ambiguity_groups,
)
from livecheck.records import Complaint
from tests.diagnosis.story import JACK, Story, share

TABLES = knowledge.load()
ADAPTER = f"adapter@{JACK}"


def _groups(complaint: Complaint) -> tuple[AmbiguityGroup, ...]:
    story = Story(complaint)
    story.run()
    return ambiguity_groups(story.runs[0], complaint, TABLES)


def _with(groups: tuple[AmbiguityGroup, ...], name: str) -> AmbiguityGroup:
    return next(group for group in groups if name in group.names)


def test_adapter_and_jack_are_parted_by_a_swap_or_a_meter_and_by_no_run() -> None:
    """Common practice, no source: another adapter, or the meter at the jack."""
    group = _with(_groups(Complaint.NOT_CHARGING), "adapter")
    assert JACK in " ".join(group.names)
    assert group.swaps == ("adapter",)
    assert group.left == ("power-jack",)
    assert "bench.jack" in group.checks


def test_a_module_and_its_slot_are_parted_by_a_swap_only() -> None:
    group = _with(_groups(Complaint.UNSTABLE), "memory-module INV-MA")
    assert {"memory-module", "mainboard", "contact"} <= set(group.units)
    assert "memory-module INV-MA" in group.swaps


def test_the_shares_of_disjoint_groups_are_no_more_than_one() -> None:
    for complaint in Complaint:
        groups = _groups(complaint)
        names = [name for group in groups for name in group.names]
        assert sum(group.share for group in groups) <= 1.0 + 1e-9
        assert all(len(group.units) > 1 for group in groups)
        assert len(groups) == len(set(groups)) and names


@pytest.mark.parametrize(("p", "q"), [(0.9, 0.02), (0.3, 0.1), (0.5, 0.4)])
def test_the_distance_is_the_mean_divergence_of_two_coins(p: float, q: float) -> None:
    """Kullback & Leibler, On Information and Sufficiency, Ann. Math. Stat. 22, 1951: by hand."""

    def divergence(a: float, b: float) -> float:
        return a * log(a / b) + (1 - a) * log((1 - a) / (1 - b))

    expected = (divergence(p, q) + divergence(q, p)) / 2
    assert _apart({"t": ("g", p)}, {"t": ("g", q)}) == pytest.approx(expected)
    both = {"t": ("g", p), "u": ("g", p)}
    assert _apart(both, {"t": ("g", q), "u": ("g", q)}) == pytest.approx(expected)


def test_the_engine_does_not_part_what_is_told_to_be_one_group() -> None:
    """After a run in which the group's own checks fail, the odds in it moved by less than 10."""
    quiet, failing = Story(Complaint.NOT_CHARGING), Story(Complaint.NOT_CHARGING)
    quiet.run()
    failing.run(f"power.adapter {ADAPTER}")
    before, after = quiet.locate(), failing.locate()
    moved = (share(after, ADAPTER) / share(after, JACK)) / (
        share(before, ADAPTER) / share(before, JACK)
    )
    assert abs(log(moved)) < 2 * TOLD_APART
