"""Plays cases: one from the complaint to a proven repair, or many on several processes."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Final, NamedTuple

import msgspec

from livecheck import knowledge
from livecheck.records import Knowledge
from tests.simulation.policies import POLICIES
from tests.simulation.population import OWN, POPULATIONS
from tests.simulation.score import Played
from tests.simulation.world import World
from tests.simulation.worlds.technician import Technician

WORLDS: Final = "worlds"
NAMES: Final = (*POPULATIONS, WORLDS)
"""Populations there are."""


def begin(seed: int, tables: Knowledge, population: str = OWN.name) -> World | Technician:
    """A machine of a population, with its complaint."""
    if population == WORLDS:
        return Technician(seed, tables)
    return World(seed, tables, POPULATIONS[population])


def play(policy: str, seed: int, tables: Knowledge, population: str = OWN.name) -> Played:
    """One case from the customer's complaint to a proven repair."""
    world = begin(seed, tables, population)
    types = world.types()
    ended = POLICIES[policy](world)
    # Curing a contact or cleaning needs no verdict: the cause is known by its cure.
    by_cure = world.cured_for_nothing()
    sound = not types
    right = world.accepts(ended.named) or by_cure
    first = world.accepts(ended.first) or by_cure
    detected = not sound and (ended.found or by_cure)
    bought = sum(unit != "software" for unit in world.orders)
    came_back = world.close()
    return Played(
        types=tuple(name for name, _ in types),
        roles=tuple(role for _, role in types),
        complaint=world.complaint,
        detected=detected,
        right=right,
        first_right=first,
        in_two=right or any(world.accepts(unit) for unit in ended.top),
        wrong_boards=world.wrong_boards,
        wrong_orders=world.wrong_orders,
        wrong_reinstalls=world.wrong_reinstalls,
        bought=bought,
        named=ended.named,
        said=ended.said,
        lead_right=world.accepts(ended.lead),
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
    population: str
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
    population: str = OWN.name,
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
            keep and keep / f"{population}-{policy}-{seed}-{n}-{min(n + size, cases)}.json",
        )
        for n in range(0, cases, size)
    ]
    with ProcessPoolExecutor(max_workers=workers) as pool:
        return [played for chunk in pool.map(_chunk, tasks) for played in chunk]
