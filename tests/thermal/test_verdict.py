"""Words for a fit, and two fits compared."""

from __future__ import annotations

import pytest

from livecheck.thermal import Fit, Limits, compare, fit, judge
from livecheck.thermal.compare import Figure
from tests.thermal.bodies import loaded

LIMITS = Limits(prompt=1.5, margin=3.0, still_rpm=200.0)
POWERS = [4.0] * 20 + [18.0] * 240 + [4.0] * 40


def _verdict(resistance: float, prompt: float, rpm: float | None) -> str:
    course = loaded(resistance, 60 / resistance, POWERS, prompt=prompt, step=1.0, unrest=0.03)
    return judge(fit(course), LIMITS, limit=100.0, lasting=15.0, fan_rpm=rpm).word


@pytest.mark.parametrize(
    ("resistance", "prompt", "rpm", "word"),
    [
        # 30 °C + 15 W · R against a limit of 100 °C: 4.4 K/W is the most (arithmetic).
        (2.5, 0.4, 3000.0, "within what such machines do"),
        (5.5, 0.4, 4000.0, "airways blocked"),
        (5.5, 0.4, 0.0, "fan not turning"),
        (2.5, 2.6, 4000.0, "heatsink contact poor"),
        (5.5, 0.4, None, "airways blocked"),
    ],
)
def test_words(resistance: float, prompt: float, rpm: float | None, word: str) -> None:
    assert _verdict(resistance, prompt, rpm) == word


def test_nothing_is_said_without_a_fit() -> None:
    blank = Fit(judged=False, why_not="only 3 points")
    found = judge(blank, LIMITS, limit=100.0, lasting=15.0, fan_rpm=0.0)
    assert found.word == "not judged" and found.why_not == "only 3 points" and not found.bad


@pytest.mark.parametrize(
    ("before", "after", "change"),
    [
        (Figure(3.4, 0.05), Figure(2.1, 0.05), "better"),
        (Figure(2.1, 0.05), Figure(3.4, 0.05), "worse"),
        (Figure(2.1, 0.01), Figure(2.14, 0.01), "the same"),
        (Figure(2.1, 0.4), Figure(2.6, 0.4), "cannot tell"),
        (Figure(2.1, 0.05), None, "cannot tell"),
    ],
)
def test_before_and_after(before: Figure, after: Figure | None, change: str) -> None:
    """Two standard uncertainties of the difference make a change (95 %, GUM from memory)."""
    assert compare((before, after), (None, None)).change == change


def test_time_constant_stands_in_for_resistance() -> None:
    found = compare((None, None), (Figure(120.0, 3.0), Figure(70.0, 3.0)))
    assert found.change == "better" and found.time_constant_change == pytest.approx(-5 / 12)


def test_a_cleaned_machine_is_told_from_a_blocked_one() -> None:
    """The same body, half the resistance: fitted from whole degrees, seen as better."""
    blocked = fit(loaded(4.4, 30.0, POWERS, step=1.0, unrest=0.03, seed=1))
    clean = fit(loaded(2.2, 30.0, POWERS, step=1.0, unrest=0.03, seed=2))
    found = compare(*(_pair(blocked, clean, name) for name in ("resistance", "time_constant")))
    assert found.change == "better"
    assert found.resistance_change == pytest.approx(-0.5, abs=0.05)
    assert found.time_constant_change == pytest.approx(-0.5, abs=0.05)


def _pair(before: Fit, after: Fit, name: str) -> tuple[Figure, Figure]:
    return tuple(  # type: ignore[return-value]
        Figure(getattr(f, name), getattr(f, f"{name}_spread")) for f in (before, after)
    )
