"""Plays cases: one from the complaint to a proven repair, or many on several processes."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

import msgspec

from livecheck import knowledge
from livecheck.records import Knowledge
from tests.simulation.policies import POLICIES
from tests.simulation.population import OWN, Population
from tests.simulation.score import Played
from tests.simulation.world import World


def play(policy: str, seed: int, tables: Knowledge, population: Population = OWN) -> Played:
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
    bought = sum(unit != "software" for unit in world.orders)
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
        wrong_reinstalls=world.wrong_reinstalls,
        bought=bought,
        named=ended.named,
        said=ended.said,
        lead_right=ended.lead in units if ended.lead is not None else sound,
        lead_probability=ended.lead_probability,
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
    population: Population = OWN,
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
