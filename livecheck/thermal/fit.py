"""Fitting the model to one sensor's course.

For a given time constant the model is linear in everything else, so only that one number
is searched for (variable projection: Golub and Pereyra, SIAM Journal on Numerical Analysis
10 (1973), from memory). The whole course is compared with the whole model output, which
steps of the sensor's resolution bias far less than a fit of one sample on the one before.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from typing import Final

import msgspec

from livecheck.thermal.model import Fit, Point
from livecheck.thermal.squares import Solution, invert, solve

FEWEST: Final = 12
"""Points below which nothing is fitted."""
LEAST_RISE_STEPS: Final = 5.0
"""Sensor steps the temperature must cover to say anything."""
LEAST_SWING_WATTS: Final = 1.0
"""W between the lowest and the highest power for a resistance."""
MOST_SPREAD: Final = 0.2
"""Relative standard uncertainty above which a figure is not given (assumed)."""
MOST_RESIDUAL_SHARE: Final = 0.12
"""Residual, as a share of the rise, above which this is not a first-order body (assumed)."""
GOLDEN: Final = (math.sqrt(5) - 1) / 2

_Squares = Callable[[float], float]


class _Model(msgspec.Struct, frozen=True):
    """Which columns are fitted."""

    power: bool
    prompt: bool
    free: bool
    """True: the start need not have been settled; one more unknown."""


class _Found(msgspec.Struct, frozen=True):
    model: _Model
    tau: float
    solution: Solution
    bic: float


def fit(points: Sequence[Point], step: float = 1.0, settled: bool = False, sensor: str = "") -> Fit:
    """Fit one sensor's course.

    ``points``: at least a dozen, in order of time; ``step``: the sensor's resolution, K;
    ``settled``: the first point was taken after temperature and power had long stood still
    (its ``watts`` is then the power of that while). Where power is missing from any point,
    only the time constant and the steady temperature come out.
    """
    reason = _too_little(points, step)
    rise = max((p.celsius for p in points), default=0.0) - min(
        (p.celsius for p in points), default=0.0
    )
    seconds = points[-1].seconds - points[0].seconds if points else 0.0
    blank = Fit(
        sensor=sensor, judged=False, why_not=reason, points=len(points), seconds=seconds, rise=rise
    )
    if reason is not None:
        return blank
    metered = all(p.watts is not None for p in points[0 if settled else 1 :])
    swing = _swing(points) if metered else 0.0
    models = _models(swing >= LEAST_SWING_WATTS, settled)
    found = [one for model in models if (one := _search(points, model)) is not None]
    if not found:
        return msgspec.structs.replace(blank, why_not="temperature and power do not move apart")
    best = min(found, key=lambda one: one.bic)
    return _result(points, best, step, blank, swing)


def _too_little(points: Sequence[Point], step: float) -> str | None:
    if len(points) < FEWEST:
        return f"only {len(points)} points"
    heats = [p.celsius for p in points]
    if max(heats) - min(heats) < LEAST_RISE_STEPS * step:
        return (
            f"the temperature moved by {max(heats) - min(heats):.1f} K only, in steps of {step:g} K"
        )
    return None


def _swing(points: Sequence[Point]) -> float:
    powers = [p.watts for p in points if p.watts is not None]
    return max(powers, default=0.0) - min(powers, default=0.0)


def _models(power: bool, settled: bool) -> list[_Model]:
    if not power:
        return [_Model(power=False, prompt=False, free=True)]
    free = not settled
    return [_Model(True, False, free), _Model(True, True, free)]


def _columns(points: Sequence[Point], model: _Model, tau: float) -> list[list[float]]:
    """1, the fading start, filtered power, power: what the model has, in this order."""
    begun = points[0].seconds
    columns = [[1.0] * len(points)]
    if model.free:
        columns.append([math.exp(-(p.seconds - begun) / tau) for p in points])
    if model.power:
        columns.append(filtered(points, tau, model.free))
    if model.prompt:
        first = points[1].watts if points[0].watts is None else points[0].watts
        columns.append([first or 0.0, *(p.watts or 0.0 for p in points[1:])])
    return columns


def _counted(points: Sequence[Point], model: _Model, tau: float) -> list[list[float]]:
    """The columns of the points that are held against the model."""
    columns = _columns(points, model, tau)
    if all(p.counted for p in points):
        return columns
    return [[x for x, p in zip(c, points, strict=True) if p.counted] for c in columns]


def filtered(points: Sequence[Point], tau: float, from_zero: bool) -> list[float]:
    """Power as a first-order body passes it on, exact for power constant between points."""
    level = 0.0 if from_zero else (points[0].watts or 0.0)
    levels = [level]
    for before, now in itertools.pairwise(points):
        keep = math.exp(-(now.seconds - before.seconds) / tau)
        level = keep * level + (1 - keep) * (now.watts or 0.0)
        levels.append(level)
    return levels


def _search(points: Sequence[Point], model: _Model) -> _Found | None:
    """The time constant with the least squares: a coarse look, then a golden section."""
    values = [p.celsius for p in points if p.counted]
    gaps = (b.seconds - a.seconds for a, b in itertools.pairwise(points))
    shortest = max(1e-3, min((g for g in gaps if g > 0), default=1.0))
    low, high = math.log(shortest), math.log(4 * (points[-1].seconds - points[0].seconds))

    def squares(log_tau: float) -> float:
        solved = solve(_counted(points, model, math.exp(log_tau)), values)
        return solved.squares if solved is not None else math.inf

    grid = [low + (high - low) * k / 24 for k in range(25)]
    seen = [squares(x) for x in grid]
    best = min(range(len(grid)), key=seen.__getitem__)
    if not math.isfinite(seen[best]):
        return None
    left, right = grid[max(0, best - 1)], grid[min(len(grid) - 1, best + 1)]
    tau = math.exp(_golden(squares, left, right))
    solution = solve(_counted(points, model, tau), values)
    if solution is None:
        return None
    size, unknowns = len(values), len(solution.coefficients) + 1
    bic = size * math.log(max(solution.squares / size, 1e-18)) + unknowns * math.log(size)
    return _Found(model, tau, solution, bic)


def _golden(function: _Squares, left: float, right: float) -> float:
    a, b = right - GOLDEN * (right - left), left + GOLDEN * (right - left)
    at_a, at_b = function(a), function(b)
    while right - left > 1e-5:
        if at_a <= at_b:
            right, b, at_b = b, a, at_a
            a = right - GOLDEN * (right - left)
            at_a = function(a)
        else:
            left, a, at_a = a, b, at_b
            b = left + GOLDEN * (right - left)
            at_b = function(b)
    return (left + right) / 2


def _result(points: Sequence[Point], found: _Found, step: float, blank: Fit, swing: float) -> Fit:
    named = _named(found)
    modelled, spreads, residual = _uncertainty(points, found, step)
    tau = found.tau
    air, slow = named["air"], named.get("slow")
    prompt = named.get("prompt")
    resistance = None if slow is None else slow + (prompt or 0.0)
    watts = points[-1].watts
    if resistance is not None and watts is not None:
        end: float | None = air + resistance * watts
    else:
        # Without power the body goes towards the constant: the mean of what it fades into.
        end = air if not found.model.power else None
    result = msgspec.structs.replace(
        blank,
        judged=True,
        air=air if resistance is not None else None,
        resistance=resistance,
        resistance_spread=spreads.get("resistance"),
        prompt=prompt,
        time_constant=tau,
        time_constant_spread=spreads["tau"],
        steady=end,
        last=modelled[-1],
        residual=residual,
        watts=watts,
    )
    reason = _doubt(result, step)
    if reason is not None:
        return msgspec.structs.replace(blank, why_not=reason, residual=residual, time_constant=None)
    return result


def _doubt(result: Fit, step: float) -> str | None:
    """Why a fit that was found is not to be believed; None: it is."""
    tau, spread = result.time_constant or 0.0, result.time_constant_spread
    if (result.residual or 0.0) > max(1.5 * step, MOST_RESIDUAL_SHARE * result.rise):
        return (
            f"the course does not follow a first-order body ({result.residual:.1f} K are left over)"
        )
    if tau > result.seconds or spread is None or spread > MOST_SPREAD * tau:
        return f"the load was too short to tell the time constant ({result.seconds:.0f} s)"
    if result.resistance is None:
        return None
    if result.resistance <= 0 or (result.prompt or 0.0) < -0.1 * result.resistance:
        return "the temperature did not follow the power"
    width = result.resistance_spread
    if width is None or width > MOST_SPREAD * result.resistance:
        return "the power moved too little, or the temperature for another reason"
    return None


def _named(found: _Found) -> dict[str, float]:
    names = ["air"]
    names += ["start"] if found.model.free else []
    names += ["slow"] if found.model.power else []
    names += ["prompt"] if found.model.prompt else []
    return dict(zip(names, found.solution.coefficients, strict=True))


def _uncertainty(
    points: Sequence[Point], found: _Found, step: float
) -> tuple[list[float], dict[str, float], float]:
    """The modelled course, standard uncertainties of R and τ, and the residual.

    From the Jacobian at the solution (JCGM 100:2008, GUM, from memory). Residuals of a
    rounding sensor hang together: their variance is widened by (1 + ρ)/(1 − ρ), ρ being
    the correlation of neighbours, and never taken below step²/12.
    """
    columns = _counted(points, found.model, found.tau)
    coefficients = found.solution.coefficients
    modelled = _course(columns, coefficients)
    near = _counted(points, found.model, found.tau * 1.001)
    slope = [
        (b - a) / (found.tau * 0.001)
        for a, b in zip(modelled, _course(near, coefficients), strict=True)
    ]
    heats = (p.celsius for p in points if p.counted)
    left = [celsius - m for celsius, m in zip(heats, modelled, strict=True)]
    size = len(left)
    unknowns = len(coefficients) + 1
    squares = sum(x * x for x in left)
    variance = max(squares / max(1, size - unknowns), (step**2 / 12) if squares > 1e-9 else 0.0)
    together = sum(a * b for a, b in itertools.pairwise(left)) / squares if squares else 0
    together = min(0.95, max(0.0, together))
    variance *= (1 + together) / (1 - together)
    jacobian = [*columns, slope]
    normal = [[sum(x * y for x, y in zip(a, b, strict=True)) for b in jacobian] for a in jacobian]
    inverse = invert(normal)
    residual = math.sqrt(squares / size)
    if inverse is None:
        return modelled, {"tau": math.inf}, residual
    spreads = {"tau": math.sqrt(max(0.0, variance * inverse[-1][-1]))}
    if found.model.power:
        first = 2 if found.model.free else 1
        which = [first, first + 1] if found.model.prompt else [first]
        total = sum(inverse[i][j] for i in which for j in which)
        spreads["resistance"] = math.sqrt(max(0.0, variance * total))
    return modelled, spreads, residual


def _course(columns: Sequence[Sequence[float]], coefficients: Sequence[float]) -> list[float]:
    return [
        sum(c * x for c, x in zip(coefficients, row, strict=True))
        for row in zip(*columns, strict=True)
    ]
