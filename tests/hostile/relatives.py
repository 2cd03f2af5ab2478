"""Pairs and triples of related runs, as repairs, swaps and lying firmware make them, and worse.

The second is the first with changes: a part has another serial (a soldered one too, as after a
flash), another place, is gone, or there twice; places and controllers vanish; the board names
itself otherwise; readings say the opposite or speak of what is not there.
"""

from __future__ import annotations

import json
import random
from typing import Any, Final

import msgspec

from livecheck import printing, report
from livecheck.case_index.summary import summarize
from livecheck.casefile import Loaded
from livecheck.diagnosis import locate
from livecheck.records import Case, Complaint, Run
from tests.hostile.mutate import replaced
from tests.hostile.targets import TABLES
from tests.records import test_convert

LISTS: Final = ("parts", "places", "controllers", "devices")


def bases() -> tuple[tuple[Run, ...], ...]:
    """Cases to begin with: those that the records' own tests keep."""
    return tuple(test_convert.read(name) for name in test_convert.KEPT)


def related(runs: tuple[Run, ...], dice: random.Random) -> tuple[Run, ...]:
    """Two or three runs of a case that began like ``runs``; some are no longer records at all."""
    made = [dice.choice(runs)]
    while len(made) < dice.choice((2, 2, 3)):
        other = msgspec.to_builtins(dice.choice((*runs, made[-1])))
        for _ in range(dice.choice((1, 1, 2, 4))):
            _altered(other, dice)
        if dice.random() < 0.2:
            replaced(other, dice)
        try:
            made.append(msgspec.convert(json.loads(json.dumps(other)), Run))
        except (msgspec.ValidationError, UnicodeEncodeError):
            continue
    return tuple(msgspec.structs.replace(run, number=n + 1) for n, run in enumerate(made))


def _altered(run: dict[str, Any], dice: random.Random) -> None:
    inventory = run["inventory"]
    rows = [row for name in LISTS for row in inventory.get(name, ())]
    ids = [row["id"] for row in rows if "id" in row] + ["machine", "mainboard", "nowhere", ""]
    kind = dice.randrange(8)
    if kind == 0 and inventory["parts"]:
        part = dice.choice(inventory["parts"])
        _renamed(run, part, f"{part['kind']}:serial:Z{dice.randrange(9)}", dice)
    elif kind == 1 and inventory["parts"]:
        dice.choice(inventory["parts"])["soldered"] = dice.random() < 0.5
    elif kind == 2 and inventory["parts"]:
        dice.choice(inventory["parts"])["place"] = dice.choice(ids)
    elif kind == 3:
        name = dice.choice(LISTS)
        if inventory.get(name):
            inventory[name] = dice.sample(inventory[name], len(inventory[name]) - 1)
    elif kind == 4:
        name = dice.choice(LISTS)
        if inventory.get(name):
            inventory[name] = [*inventory[name], dict(dice.choice(inventory[name]))]
    elif kind == 5:
        inventory["machine"] = {"product": "Wander", "board_serial": f"B{dice.randrange(3)}"}
    elif kind == 6 and run["readings"]:
        reading = dice.choice(run["readings"])
        reading["outcome"] = dice.choice(("passed", "failed", "not judged"))
        reading["at"] = dice.choice((reading["at"], *ids))
    else:
        run["complaint"] = dice.choice(list(Complaint)).value
        run["elsewhere"] = dice.random() < 0.3


def _renamed(run: dict[str, Any], part: dict[str, Any], to: str, dice: random.Random) -> None:
    """Another identity, and (mostly) everything that speaks of the part follows."""
    was = part["id"]
    part["id"], part["identity"], part["serial"] = to, to.partition(":")[2], to[-2:]
    for reading in run["readings"] if dice.random() < 0.8 else ():
        if reading["at"] == was:
            reading["at"] = to


def judged(runs: tuple[Run, ...]) -> None:
    """Everything that is said of a case: verdict, report, terminal, summary."""
    case = Case(id="x", ticket=None, complaint=runs[0].complaint, machine=runs[0].inventory.machine,
                opened=runs[0].started)  # fmt: skip
    location = locate(case.id, runs, TABLES)
    report.render(case, runs, location, TABLES)
    printing.verdict(Loaded(case, runs, ()), location, TABLES)
    summarize(location, runs, [run.number for run in runs])
