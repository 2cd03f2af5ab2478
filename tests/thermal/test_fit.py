"""The thermal fit against worked values, an independent least squares, and bodies made up.

Outside sources: the closed solution of the first-order body (arithmetic); scipy's
``least_squares``; the worked junction temperature of a vendor's guide to thermal
resistance (second-hand).
"""

from __future__ import annotations

import math

import numpy
import pytest
from scipy.optimize import curve_fit

from livecheck.thermal import Fit, Point, fit, seconds_until, settled, steady
from livecheck.thermal.squares import solve
from tests.thermal.bodies import loaded, warmed

WORKED = {0: 25.0, 50: 36.804, 100: 43.964, 200: 50.940, 300: 53.506, 500: 54.798}
"""R = 2 K/W, C = 50 J/K, P = 15 W, T_air = 25 °C: seconds -> °C, computed."""


def test_bodies_are_the_worked_one() -> None:
    """The made-up body gives the worked temperatures, so the fit is tried on the right thing."""
    course = warmed(2.0, 50.0, 15.0, 25.0, 500)
    for second, celsius in WORKED.items():
        assert course[second].celsius == pytest.approx(celsius, abs=6e-4)


def test_worked_values_come_back_without_noise() -> None:
    """R = 2.00 K/W and τ = 100 s to 0.1 %."""
    found = fit(warmed(2.0, 50.0, 15.0, 25.0, 500), step=0.001, settled=True)
    assert found.judged
    assert found.resistance == pytest.approx(2.0, rel=1e-3)
    assert found.time_constant == pytest.approx(100.0, rel=1e-3)
    assert found.steady == pytest.approx(55.0, abs=0.05)
    assert found.capacity == pytest.approx(50.0, rel=2e-3)


@pytest.mark.parametrize("seconds", [250, 350, 500])
def test_worked_values_with_a_sensor_of_whole_degrees(seconds: int) -> None:
    """To 5 % with 1 °C steps at 1 Hz, as a laptop's sensor gives them."""
    found = fit(warmed(2.0, 50.0, 15.0, 25.0, seconds, step=1.0), settled=True)
    assert found.judged
    assert found.resistance == pytest.approx(2.0, rel=0.05)
    assert found.time_constant == pytest.approx(100.0, rel=0.05)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("start_settled", [False, True])
def test_restless_power(seed: int, start_settled: bool) -> None:
    """Idle, load, cooling with power that wanders by 3 %, whole degrees, integrated by Euler."""
    powers = [4.0] * 20 + [20.0] * 180 + [4.0] * 60
    course = loaded(2.2, 30.0, powers, step=1.0, unrest=0.03, seed=seed)
    found = fit(course, settled=start_settled)
    assert found.judged, found.why_not
    assert found.resistance == pytest.approx(2.2, rel=0.05)
    assert found.time_constant == pytest.approx(66.0, rel=0.05)


def test_prompt_part_is_told_from_the_slow_one() -> None:
    """0.9 K/W that follow power at once, 2 K/W that take their time."""
    powers = [4.0] * 20 + [20.0] * 180 + [4.0] * 60
    found = fit(loaded(2.0, 30.0, powers, prompt=0.9, step=1.0, unrest=0.03))
    assert found.judged, found.why_not
    assert found.prompt == pytest.approx(0.9, rel=0.1)
    assert found.resistance == pytest.approx(2.9, rel=0.05)


def _independent(course: list[Point]) -> tuple[numpy.ndarray, numpy.ndarray]:
    """scipy's fit of the same course, in its own formulation (state space, not columns)."""
    watts = [p.watts or 0.0 for p in course]

    def model(_: object, air: float, resistance: float, tau: float) -> list[float]:
        level, found = resistance * watts[0], []
        for second, power in enumerate(watts):
            if second:
                level += (resistance * power - level) * -math.expm1(-1 / tau)
            found.append(air + level)
        return found

    seconds = [p.seconds for p in course]
    best, covariance = curve_fit(
        model, seconds, [p.celsius for p in course], p0=(30.0, 1.0, 40.0), xtol=1e-12, ftol=1e-12
    )
    return best, covariance


@pytest.mark.parametrize("step", [0.0, 1.0])
def test_agrees_with_an_independent_least_squares(step: float) -> None:
    """R, τ and the air's temperature agree with scipy.optimize.curve_fit to 1e-4."""
    powers = [4.0] * 20 + [20.0] * 180 + [4.0] * 60
    course = loaded(2.2, 30.0, powers, step=step, unrest=0.05, seed=3)
    best, covariance = _independent(course)
    found = fit(course, step=step or 0.001, settled=True)
    assert found.prompt is None or abs(found.prompt) < 0.02
    if found.prompt is None:
        assert found.resistance == pytest.approx(best[1], rel=1e-4)
        assert found.time_constant == pytest.approx(best[2], rel=1e-4)
        assert found.air == pytest.approx(best[0], rel=1e-4)
    # Ours is wider: it allows for residuals that hang together.
    assert found.resistance_spread is not None
    assert found.resistance_spread >= 0.5 * math.sqrt(covariance[1][1])


def test_linear_part_agrees_with_numpy() -> None:
    """Normal equations of scaled columns against numpy.linalg.lstsq."""
    columns = [[1.0] * 30, [math.sin(k) for k in range(30)], [1e5 * k for k in range(30)]]
    values = [3 + 2 * math.sin(k) - 7e-5 * k + math.cos(5 * k) for k in range(30)]
    ours = solve(columns, values)
    theirs = numpy.linalg.lstsq(numpy.array(columns).T, numpy.array(values), rcond=None)
    assert ours is not None
    assert ours.coefficients == pytest.approx(theirs[0], rel=1e-9)
    assert ours.squares == pytest.approx(theirs[1][0], rel=1e-9)
    assert solve([[1.0] * 5, [2.0] * 5], [1, 2, 3, 4, 5]) is None


@pytest.mark.parametrize(
    ("course", "word"),
    [
        (warmed(2.0, 50.0, 15.0, 25.0, 5), "points"),
        (warmed(0.1, 50.0, 15.0, 25.0, 300, step=1.0), "moved by"),
        (warmed(2.0, 50.0, 15.0, 25.0, 40, step=1.0), "too short"),
        # Twice the heat from a source that is not metered.
        (
            [
                Point(float(t), 40 + 12 * math.sin(t / 9), 10 + 5 * (t % 50 > 25))
                for t in range(300)
            ],
            "",
        ),
    ],
)
def test_data_that_cannot_tell(course: list[Point], word: str) -> None:
    """Too few, too flat, too short, not such a body: not judged, with the reason."""
    found = fit(course, settled=True)
    assert not found.judged and found.why_not is not None and word in found.why_not
    assert found.resistance is None and found.time_constant is None
    assert seconds_until(found, 90.0) is None and steady(found, 10.0) is None


def test_without_power_there_is_no_resistance() -> None:
    """The time constant and where it settles still come out."""
    course = [Point(p.seconds, p.celsius) for p in warmed(2.0, 50.0, 15.0, 25.0, 400, step=1.0)]
    found = fit(course)
    assert found.judged and found.resistance is None
    assert found.time_constant == pytest.approx(100.0, rel=0.05)
    assert found.steady == pytest.approx(55.0, abs=1.0)


def test_time_to_the_limit() -> None:
    """From 43.964 °C (one τ) towards 55 °C, 50.940 °C is another τ away; 55 °C never comes."""
    found = fit(warmed(2.0, 50.0, 15.0, 25.0, 100), step=0.001, settled=True)
    if not found.judged:  # one τ is the least the fit takes
        found = fit(warmed(2.0, 50.0, 15.0, 25.0, 101), step=0.001, settled=True)
    left = seconds_until(found, 50.940)
    assert left == pytest.approx(200 - found.seconds, abs=0.5)
    assert seconds_until(found, 55.5) is None
    assert seconds_until(found, 30.0) == 0.0


def test_steady_temperature_of_a_series() -> None:
    """5 W through 3 + 1 + 8 K/W into air of 25 °C: 85 °C in the chip (vendor's guide)."""
    found = Fit(judged=True, air=25.0, resistance=3.0 + 1.0 + 8.0, prompt=4.0, time_constant=60.0)
    assert steady(found, 5.0) == pytest.approx(85.0)


def test_settled() -> None:
    assert settled([Point(0.0, 40.0), Point(1.0, 41.0), Point(2.0, 40.0)])
    assert not settled([Point(0.0, 40.0), Point(1.0, 42.0), Point(2.0, 45.0)])
    assert not settled([Point(0.0, 40.0)])
