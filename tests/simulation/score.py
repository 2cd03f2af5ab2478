"""Plays cases and scores them in the terms of testability.

``detected``: of cases with a fault, share not handed back as sound. ``isolated_to_one``
(``_two``): of the detected, share in which the unit blamed at the end of the case is at
fault (one of the two likeliest is); the fault isolation rate of testability, which is
taken of detected faults. ``first_right``: of the detected, the first unit blamed is at
fault: stricter, as a wrong order that fails on the bench is corrected there.
``wrong_mainboard``: of all cases, share in which a sound board was ordered. Bench
minutes and money (in bench hours' prices) are means to a proven repair: a machine
handed back with its fault comes back and is paid for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Final, NamedTuple

import msgspec

from livecheck import knowledge
from livecheck.records import Knowledge
from tests.simulation.policies import POLICIES
from tests.simulation.population import USUAL, Population
from tests.simulation.world import World

BINS: Final = ((0.90, 0.95), (0.95, 0.98), (0.98, 0.99), (0.99, 1.0001))


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
    came_back: bool
    minutes: float
    money: float
    side: str
    probability: float
    steps: int


def play(policy: str, seed: int, tables: Knowledge, population: Population = USUAL) -> Played:
    """One case from the customer's complaint to a proven repair."""
    world = World(seed, tables, population)
    units = world.true_units()
    roles = tuple(fault.type.role for fault in world.faults)
    types = tuple(fault.type.name for fault in world.faults)
    cleaned = {fault.where for fault in world.faults if fault.type.cleans}
    ended = POLICIES[policy](world)
    treated = {f.unit() for f in world.faults if f.gone and f.type.role == "contact"}
    treated |= {f.where for f in world.faults if f.gone and f.where in cleaned}
    # Curing a contact or cleaning needs no verdict: the cause is known by its cure.
    by_cure = bool(treated) and not world.orders
    sound = not units
    right = (ended.named in units) or by_cure if not sound else ended.named is None
    first = (ended.first in units) or by_cure if not sound else ended.first is None
    detected = not sound and (ended.found or by_cure)
    came_back = world.close()
    return Played(
        types=types,
        roles=roles,
        complaint=world.complaint,
        detected=detected,
        right=right,
        first_right=first,
        in_two=right or bool(set(ended.top) & units),
        wrong_boards=world.wrong_boards,
        wrong_orders=world.wrong_orders,
        came_back=came_back,
        minutes=world.minutes,
        money=world.money,
        side=ended.side,
        probability=ended.probability,
        steps=ended.steps,
    )


class Chunk(NamedTuple):
    """Machines one process plays in one go."""

    policy: str
    first: int
    last: int
    population: Population
    kept: Path | None
    """Where their outcome is kept; what lies there is read instead of played."""


def _chunk(task: Chunk) -> list[Played]:
    if task.kept and task.kept.exists():
        return msgspec.json.decode(task.kept.read_bytes(), type=list[Played])
    tables = knowledge.load()
    seeds = range(task.first, task.last)
    played = [play(task.policy, seed, tables, task.population) for seed in seeds]
    if task.kept:
        half = task.kept.with_suffix(".part")
        half.write_bytes(msgspec.json.encode(played))
        half.rename(task.kept)
    return played


def play_all(
    policy: str,
    cases: int,
    seed: int,
    workers: int = 2,
    population: Population = USUAL,
    keep: Path | None = None,
) -> list[Played]:
    """Many cases; case n of a seed is the same machine under every policy.

    With a folder to ``keep`` outcomes in, a run that was cut short goes on where it was.
    The folder must be of the same sources and population.
    """
    base = seed * 1_000_003
    size = max(1, min(50, cases // (2 * workers) or 1))
    tasks = [
        Chunk(
            policy,
            base + n,
            base + min(n + size, cases),
            population,
            keep and keep / f"{policy}-{seed}-{n}-{min(n + size, cases)}.json",
        )
        for n in range(0, cases, size)
    ]
    with ProcessPoolExecutor(max_workers=workers) as pool:
        return [played for chunk in pool.map(_chunk, tasks) for played in chunk]


def scores(played: Sequence[Played]) -> dict[str, float]:
    """The figures of one policy."""
    faulty = [one for one in played if one.roles]
    sound = [one for one in played if not one.roles]
    detected = [one for one in faulty if one.detected]
    return {
        "detected": _share(one.detected for one in faulty),
        "isolated_to_one": _share(one.right for one in detected),
        "isolated_to_two": _share(one.in_two for one in detected),
        "first_right": _share(one.first_right for one in detected),
        "wrong_mainboard": _share(one.wrong_boards > 0 for one in played),
        "wrong_order": _share(one.wrong_orders > 0 for one in played),
        "sound_left_alone": _share(one.right for one in sound),
        "came_back": _share(one.came_back for one in played),
        "bench_minutes": _mean([one.minutes for one in played]),
        "money": _mean([one.money for one in played]),
        "steps": _mean([float(one.steps) for one in played]),
    }


def calibration(played: Sequence[Played]) -> dict[str, dict[str, float]]:
    """Of verdicts given with a probability in a range: how many, and the share right."""
    table = {}
    for low, high in BINS:
        of_bin = [one for one in played if one.side and low <= one.probability < high]
        table[f"{low:.2f}-{min(high, 1.0):.2f}"] = {
            "verdicts": float(len(of_bin)),
            "mean_probability": _mean([one.probability for one in of_bin]),
            "right": _share(one.first_right for one in of_bin),
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
