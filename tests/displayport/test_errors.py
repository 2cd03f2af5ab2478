"""Errors counted while a link is watched, with counters that are cleared and that stay."""

from __future__ import annotations

import pytest

from livecheck.displayport import LinkWatch, Screen, SymbolErrors, allowed
from tests.displayport.sink import Sink


@pytest.mark.parametrize("clears", [True, False])
def test_errors_count_alike_whether_a_screen_clears_them_or_not(clears: bool) -> None:
    sink = Sink(rate=lambda now: 40.0, clears=clears)
    sink.wait(5)
    watch = LinkWatch(sink, "drm_dp_aux0")
    for _ in range(11):
        watch.look()
        sink.wait(0.5)
    watch.look()
    assert watch.errors == pytest.approx(5.5 * 40, abs=12), "what stood there before is not counted"
    assert watch.too_many() is True
    assert watch.lanes[0] == watch.errors and watch.lanes[1] == 0


def test_what_stood_there_at_the_start_is_no_error() -> None:
    sink = Sink(rate=lambda now: 100.0 if now < 5 else 0.0, clears=False)
    sink.wait(6)
    watch = LinkWatch(sink, "drm_dp_aux0")
    for _ in range(5):
        watch.look()
        sink.wait(0.5)
    assert (watch.errors, watch.too_many()) == (0, False)


def test_a_sound_link_may_have_a_few() -> None:
    """One bit in 1e9 (VESA DisplayPort, from memory): 2 lanes of 2.7 Gbit/s for 10 s, 54."""
    fast = Screen(lanes=2, gbps=2.7)
    assert allowed([fast], 10.0) == pytest.approx(54)
    assert allowed([Screen()], 10.0) == 0.0


def test_a_screen_that_counts_nothing_has_no_count() -> None:
    watch = LinkWatch(Sink(counts=False), "drm_dp_aux0")
    watch.look()
    watch.look()
    assert watch.errors is None and watch.too_many() is None


def test_a_screen_that_does_not_answer_is_no_look() -> None:
    sink = Sink()
    sink.silent = lambda now: now > 1
    watch = LinkWatch(sink, "drm_dp_aux0")
    for _ in range(4):
        watch.look()
        sink.wait(0.5)
    assert (len(watch.screens), watch.unanswered) == (2, 2) or watch.unanswered == 1


def test_a_count_at_its_end_is_known_as_such() -> None:
    count = SymbolErrors()
    count.look(Screen(errors=(0,)), Screen(errors=(0,)))
    assert count.look(Screen(errors=(0x7FFF,)), Screen(errors=(0,))) == 0x7FFF
    assert count.full
