"""What a fit says of the cooling, in words."""

from __future__ import annotations

import msgspec

from livecheck.thermal.model import Fit, seconds_until, steady


class Limits(msgspec.Struct, frozen=True, kw_only=True):
    """Figures of the check table."""

    prompt: float
    """K/W from chip to heatsink above which their contact is poor."""
    margin: float
    """K that should be left below the limit at the power the maker allows for lasting load."""
    still_rpm: float
    """1/min below which a fan counts as standing still."""


class CoolingVerdict(msgspec.Struct, frozen=True, kw_only=True):
    """One sentence on the cooling."""

    word: str
    """``airways blocked``, ``fan not turning``, ``heatsink contact poor``, ``within what such
    machines do`` or ``not judged``."""
    bad: bool
    says: str
    why_not: str | None = None


def judge(
    fitted: Fit,
    limits: Limits,
    limit: float | None,
    lasting: float | None,
    fan_rpm: float | None,
) -> CoolingVerdict:
    """Judge one fit.

    ``limit``: °C at which chip or firmware steps in; ``lasting``: W the maker allows for
    lasting load (the package's first power limit), or what the load drew; ``fan_rpm``: the
    fastest fan at the end of the load, None where none is counted.
    """
    still = fan_rpm is not None and fan_rpm < limits.still_rpm
    if not fitted.judged or fitted.resistance is None:
        return _without_resistance(fitted, limits, limit, still)
    power = lasting if lasting is not None else fitted.watts
    end = steady(fitted, power) if power is not None else None
    figures = _figures(fitted)
    if end is None or limit is None:
        return CoolingVerdict(
            word="not judged", bad=False, says=figures, why_not="the sensor gives no limit"
        )
    outlook = f"Under {power:.0f} W for long it would settle at {end:.0f} °C; its limit is " \
        f"{limit:.0f} °C."  # fmt: skip
    if end < limit - limits.margin:
        word = "within what such machines do"
        return CoolingVerdict(word=word, bad=False, says=f"{figures} {outlook}")
    if still:
        word, cause = "fan not turning", "The fan stood still under load."
    elif (fitted.prompt or 0.0) > limits.prompt:
        word = "heatsink contact poor"
        cause = f"{fitted.prompt:.2f} K/W of it are between chip and heatsink: poor contact there."
    else:
        word, cause = "airways blocked", "Heat does not get from heatsink to air: airways blocked, "
        cause += "or a fan that turns without moving air."
    return CoolingVerdict(word=word, bad=True, says=f"{figures} {outlook} {cause}")


def _figures(fitted: Fit) -> str:
    spread = fitted.resistance_spread or 0.0
    return (
        f"{fitted.sensor or 'The sensor'}: {fitted.resistance:.2f} ± {spread:.2f} K/W to the air, "
        f"time constant {fitted.time_constant:.0f} s."
    )


def _without_resistance(
    fitted: Fit, limits: Limits, limit: float | None, still: bool
) -> CoolingVerdict:
    """No power was metered, or nothing could be fitted: what can be said all the same."""
    end = fitted.steady if fitted.judged else None
    if end is not None and limit is not None and end >= limit - limits.margin:
        word = "fan not turning" if still else "airways blocked"
        until = seconds_until(fitted, limit)
        soon = f" It gets there in {until:.0f} s." if until else ""
        return CoolingVerdict(
            word=word,
            bad=True,
            says=f"Under this load it would settle at {end:.0f} °C; its limit is {limit:.0f} °C."
            f"{soon}",
        )
    why = fitted.why_not or "processor power is not metered here, so no resistance can be given"
    says = "" if end is None else f"Under this load it settles at {end:.0f} °C."
    return CoolingVerdict(word="not judged", bad=False, says=says, why_not=why)
