"""Who walks in: a machine, what befell it, and what its owner says."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Final

from tests.simulation.visits.cause import ALL, Befallen
from tests.simulation.visits.causes import NOTHING, TWO
from tests.simulation.visits.customer import Telling, told
from tests.simulation.visits.laptop import Laptop, born

SPILL: Final = ("keyboard: dead keys", "touchpad: jumps", "charging chip", "rail shorted",
                "card contact oxidised", "module: contact oxidised", "board dead")  # fmt: skip
FALL: Final = ("panel: lines", "panel lead worn at the hinge", "joint cracked: opens when moved",
               "jack loose", "drive lead cracked", "module half in", "drive: medium worn",
               "drive not pushed in", "camera plug off", "USB socket worn")  # fmt: skip
WEAR: Final = ("battery: worn out", "coin cell empty", "charging held off")
BADLY_DONE: Final = ("antenna lead off", "module half in", "battery plug not seated",
                     "panel lead not seated", "heatsink badly screwed on", "camera plug off",
                     "drive not pushed in")  # fmt: skip


@dataclass(frozen=True)
class Arrival:
    """A visit as it begins."""

    seed: int
    laptop: Laptop
    causes: tuple[Befallen, ...]
    """The first is the one that brought the machine here; empty: nothing is wrong with it."""
    telling: Telling
    worn: tuple[Befallen, ...] = ()
    """What years of use came to, that is as good a finding as a cause."""


def arrive(seed: int) -> Arrival:
    """One visit; the same for the same seed."""
    dice = random.Random(seed)
    laptop = born(dice)
    chosen, after = _befallen(dice, laptop)
    for one in chosen:
        one.befall(laptop)
    # A battery behind a way in that gives nothing runs empty in two days of three (assumed).
    names = {one.name for one in chosen}
    cut = names & {"adapter: dead", "jack broken", "charging chip", "charging hangs"}
    laptop.charge = 0.0 if cut and dice.random() < 0.6 else max(0.2, laptop.charge)
    if "liquid" in after:
        laptop.wet = dice.random() < 0.5
    worn = tuple(ALL[name] for name in WEAR if ALL[name].still(laptop) and name not in names)
    telling = told(laptop, after if dice.random() < 0.75 else "")
    return Arrival(seed, laptop, chosen or worn, telling, worn)


def _befallen(dice: random.Random, laptop: Laptop) -> tuple[tuple[Befallen, ...], str]:
    total = sum(one.rate for one in ALL.values())
    if dice.random() < NOTHING / 1000:
        laptop.blocked = dice.random() < 0.2
        return (), dice.choice(["", "", "an update", "nothing known"])
    if dice.random() < 0.05:
        return _some(dice, laptop, SPILL, dice.choice([1, 2, 2])), "a liquid"
    if dice.random() < 0.06:
        return _some(dice, laptop, FALL, dice.choice([1, 1, 2])), "a fall"
    if dice.random() < 0.04:
        return _some(dice, laptop, BADLY_DONE, 1), "opened before"
    names = list(ALL)
    count = 2 if dice.random() < TWO * 0.7 else 1
    chosen: list[Befallen] = []
    while len(chosen) < count:
        one = ALL[dice.choices(names, [ALL[n].rate / total for n in names])[0]]
        if one.possible(laptop) and one not in chosen:
            chosen.append(one)
    after = "an update" if chosen[0].units == ("software",) and dice.random() < 0.4 else ""
    if chosen[0].name in BADLY_DONE and dice.random() < 0.5:
        after = "opened before"
    return tuple(chosen), after


def _some(
    dice: random.Random, laptop: Laptop, names: tuple[str, ...], count: int
) -> tuple[Befallen, ...]:
    can = [ALL[name] for name in names if ALL[name].possible(laptop)]
    return tuple(dice.sample(can, min(count, len(can))))
