"""Cost of a fault location: ``python -m tests.benchmarks.diagnosis``.

A machine of 60 components, 20 runs with parts swapped between them, 400 readings:
posterior and next step on one core, doubles and triples, and the growth with the
number of readings. Prints a table; the median of several rounds counts.
"""

from __future__ import annotations

import random
import time
from collections.abc import Sequence
from statistics import median

import msgspec

from livecheck.diagnosis import locate
from livecheck.records import Controller, Inventory, Part, Place, Run
from livecheck.topology.graph import build
from livecheck.topology.history import configurations
from tests.diagnosis.laptop import (
    CARD,
    CHECKS,
    DRIVE1,
    DRIVE2,
    MODULE1,
    PORT1,
    drive,
    laptop,
    reading,
    run,
    tables,
)

KNOWLEDGE = tables()
ROUNDS = 7
FIXED = {"memory": MODULE1, "wireless": CARD, "pcie": CARD, "power": "battery:INV-B1"}


def machine(own: str) -> Inventory:
    """The invented laptop with more controllers, ports and devices."""
    bridge = "pci:0000:02:{:02x}.0"
    base = laptop(drive(own, PORT1))
    controllers = (
        Controller(id=bridge.format(n), kind="pcie-root-port", name=f"root port {n}")
        for n in range(18)
    )
    places = (
        Place(id=f"usb:1-{n}", kind="usb-port", name=f"port {n}", controller=bridge.format(n))
        for n in range(14)
    )
    parts = (
        Part(
            id=f"usb-device:INV-U{n}00",
            kind="usb-device",
            name=f"device {n}",
            place=f"usb:1-{n}",
            identity=f"serial:INV-U{n}00",
        )
        for n in range(9)
    )
    return msgspec.structs.replace(
        base,
        controllers=(*base.controllers, *controllers),
        places=(*base.places, *places),
        parts=(*base.parts, *parts),
    )


def case(runs: int, readings: int, *, clear: bool) -> list[Run]:
    """Runs with two drives changing over; ``clear``: one check fails always, which names it."""
    dice = random.Random(1)
    made = []
    names = sorted(CHECKS)
    for number in range(1, runs + 1):
        own = DRIVE1 if number % 2 else DRIVE2
        found = []
        for _ in range(readings // runs):
            name = dice.choice(names)
            at = FIXED.get(name.partition(".")[0], own if name.startswith("storage") else "machine")
            bad = name == "storage.works" if clear else dice.random() < 0.2
            found.append(reading(name, at, not bad))
        made.append(run(number, machine(own), *found))
    return made


def seconds(runs: Sequence[Run], max_faults: int = 2) -> float:
    """Median time of one location."""
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        locate("benchmark", runs, KNOWLEDGE, max_faults=max_faults)
        times.append(time.perf_counter() - began)
    return median(times)


def main() -> None:
    """Print the table."""
    runs = case(20, 400, clear=False)
    fitted = configurations(runs)
    graph = build(fitted, KNOWLEDGE)
    now = build(fitted[-1:], KNOWLEDGE)
    own = sum(one.kind != "contact" for one in now.components)
    print(
        f"{own} components in one run; over all runs, with every contact, {len(graph.components)}"
    )
    print(f"doubles, verdict clear  {1000 * seconds(case(20, 400, clear=True)):8.1f} ms")
    print(f"doubles, verdict open   {1000 * seconds(runs):8.1f} ms")
    print(f"triples, verdict open   {1000 * seconds(runs, 3):8.1f} ms")
    print("readings   ms, 20 runs   ms per reading")
    for count in (100, 200, 400, 800, 1600, 3200):
        taken = seconds(case(20, count, clear=False))
        print(f"{count:8d} {1000 * taken:12.1f} {1000 * taken / count:14.3f}")


if __name__ == "__main__":
    main()
