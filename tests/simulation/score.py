"""What is scored of played cases, in the terms of testability.

``detected``: of cases with a fault, share not handed back as sound. ``isolated_to_one``
(``_two``): of the detected, share in which the unit blamed at the end of the case is at
fault (one of the two likeliest is); the fault isolation rate of testability, which is
taken of detected faults. ``first_right``: of the detected, the first unit blamed is at
fault: stricter, as a wrong order that fails on the bench is corrected there.
``wrong_mainboard``, ``wrong_order``, ``wrong_reinstall``: of all cases, share in which a
sound board, any sound unit was bought, the installed system put right in vain.
``sound_unbought`` and ``sound_told``: of machines without a fault, share for which
nothing was bought, and of which the last verdict was "no fault" or "installed system".
``software_named``: of machines whose only fault is in the installed system, share in
which that is what is blamed at the end. Bench minutes and money (in bench hours'
prices) are means to a proven repair: a machine handed back with its fault comes back
and is paid for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final, NamedTuple

BINS: Final = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 0.99, 1.0)
"""Edges of the ranges in which a stated probability is held against the share right."""
_TOLD: Final = ("no-fault", "software")


class Played(NamedTuple):
    """What is scored of one case under one policy."""

    types: tuple[str, ...]
    roles: tuple[str, ...]
    complaint: str
    detected: bool
    right: bool
    """The unit blamed at the end is at fault (no fault: none was blamed)."""
    first_right: bool
    """The first unit blamed is."""
    in_two: bool
    wrong_boards: int
    wrong_orders: int
    wrong_reinstalls: int
    bought: int
    """Units bought, the right ones too."""
    named: str | None
    """What is blamed at the end."""
    said: str
    """Side of the last verdict."""
    lead_right: bool
    """What was likeliest when it was decided on is so."""
    lead_probability: float
    came_back: bool
    minutes: float
    money: float
    side: str
    probability: float
    steps: int


def scores(played: Sequence[Played]) -> dict[str, float]:
    """The figures of one policy."""
    faulty = [one for one in played if one.roles]
    sound = [one for one in played if not one.roles]
    detected = [one for one in faulty if one.detected]
    software = [one for one in faulty if set(one.roles) == {"software"}]
    return {
        "detected": _share(one.detected for one in faulty),
        "isolated_to_one": _share(one.right for one in detected),
        "isolated_to_two": _share(one.in_two for one in detected),
        "first_right": _share(one.first_right for one in detected),
        "wrong_mainboard": _share(one.wrong_boards > 0 for one in played),
        "wrong_order": _share(one.wrong_orders > 0 for one in played),
        "wrong_reinstall": _share(one.wrong_reinstalls > 0 for one in played),
        "sound_left_alone": _share(one.right for one in sound),
        "sound_unbought": _share(one.bought == 0 for one in sound),
        "sound_told": _share(one.said in _TOLD for one in sound),
        "software_named": _share(one.named == "software" for one in software),
        "came_back": _share(one.came_back for one in played),
        "bench_minutes": _mean([one.minutes for one in played]),
        "money": _mean([one.money for one in played]),
        "steps": _mean([float(one.steps) for one in played]),
    }


def calibration(played: Sequence[Played]) -> dict[str, dict[str, float]]:
    """Of cases decided with a probability in a range: how many, and the share right.

    A case is decided at its first verdict or before its first order, else at its end.
    """
    table = {}
    for low, high in pairwise(BINS):
        last = high == BINS[-1]
        inside = (p for p in played if low <= p.lead_probability)
        of_bin = [p for p in inside if p.lead_probability < high or last]
        table[f"{low:.2f}-{high:.2f}"] = {
            "cases": float(len(of_bin)),
            "mean_probability": _mean([one.lead_probability for one in of_bin]),
            "right": _share(one.lead_right for one in of_bin),
        }
    return table


def by_type(played: Sequence[Played]) -> dict[str, dict[str, float]]:
    """The figures by type of fault, single faults only, worst isolated first."""
    groups: dict[str, list[Played]] = {}
    for one in played:
        if len(one.types) < 2:
            groups.setdefault(one.types[0] if one.types else "nothing", []).append(one)
    rows = {name: {"cases": float(len(group)), **scores(group)} for name, group in groups.items()}
    return dict(sorted(rows.items(), key=lambda row: row[1]["isolated_to_one"]))


def _share(values: Iterable[bool]) -> float:
    found = list(values)
    return round(sum(found) / len(found), 4) if found else 0.0


def _mean(values: Sequence[float]) -> float:
    return round(sum(values) / len(values), 4) if values else 0.0
