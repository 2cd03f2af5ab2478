"""What many visits come to, as plain figures."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any, Final

from livecheck.records import Location, Side
from tests.simulation.visits.played import Played

BINS: Final = ((0.5, 0.9), (0.9, 0.95), (0.95, 0.99), (0.99, 1.01))


def named(last: Location) -> tuple[str, float] | None:
    """Unit that the verdict names with one half or more, and how surely; None: none."""
    if last.side is Side.NO_FAULT:
        return None
    if last.side is Side.SOFTWARE:
        return ("software", last.probability) if last.probability >= 0.5 else None
    unit = last.unit or next(
        (c.unit for c in last.candidates if c.component == last.component), None
    )
    return None if unit is None or last.probability < 0.5 else (unit, last.probability)


def likeliest(last: Location, count: int) -> list[str]:
    """Units of the likeliest candidates, each once."""
    ranked = sorted(last.candidates, key=lambda one: -(one.of_unit or one.probability))
    return list(dict.fromkeys(one.unit for one in ranked))[:count]


def right(one: Played) -> set[str]:
    """Units that are right to name."""
    return {unit for cause in (*one.arrival.causes, *one.arrival.worn) for unit in cause.units}


def row(one: Played) -> dict[str, Any]:
    """One visit in figures."""
    said, truth = named(one.last), right(one)
    unit, sure = said if said is not None else (None, 0.0)
    return {
        "seed": one.arrival.seed,
        "causes": [cause.name for cause in one.arrival.causes],
        "complaint": one.arrival.telling.complaint,
        "side": one.last.side.value,
        "unit": unit,
        "sure": round(sure, 4),
        "right": unit in truth,
        "among_two": unit in truth or bool(truth & set(likeliest(one.last, 2))),
        "orders": [(o.unit, o.right, round(o.at_probability, 3)) for o in one.orders],
        "again": one.again,
        "cured": one.cured,
        "steps": one.steps,
        "minutes": round(one.minutes, 1),
    }


def scores(rows: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Of all visits; shares of those they can be of."""
    ill = [one for one in rows if one["causes"]]
    sound = [one for one in rows if not one["causes"]]
    system = [one for one in ill if one["causes"][0].startswith("system")]
    vain = [{unit for unit, good, _ in one["orders"] if not good} for one in rows]
    bins = {}
    for low, high in BINS:
        inside = [one for one in rows if one["unit"] and low <= one["sure"] < high]
        bins[f"{low}-{min(high, 1)}"] = [sum(one["right"] for one in inside), len(inside)]
    return {
        "visits": len(rows),
        "with_a_cause": len(ill),
        "named_rightly": _share(one["right"] for one in ill),
        "right_among_two": _share(one["among_two"] for one in ill),
        "wrong_named": _share(bool(one["unit"]) and not one["right"] for one in rows),
        "cured": _share(one["cured"] for one in ill),
        "boards_ordered_wrongly": _share("mainboard" in units for units in vain),
        "any_wrong_order": _share(bool(units) for units in vain),
        "same_order_again": sum(one["again"] for one in rows),
        "sound": len(sound),
        "sound_nothing_bought": _share(not one["orders"] for one in sound),
        "sound_told": _share(one["side"] == Side.NO_FAULT for one in sound),
        "software": len(system),
        "software_named": _share(one["unit"] == "software" for one in system),
        "mean_minutes": round(sum(one["minutes"] for one in rows) / len(rows), 1),
        "mean_steps": round(sum(one["steps"] for one in rows) / len(rows), 1),
        "said_right_of_stated": bins,
        "wrong_units": Counter(str(one["unit"]) for one in rows
                               if one["unit"] and not one["right"]),
    }  # fmt: skip


def _share(found: Any) -> float | None:
    values = [bool(one) for one in found]
    return round(sum(values) / len(values), 3) if values else None
