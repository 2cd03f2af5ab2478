"""One trial: two benches on one share, and what stands there afterwards."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from livecheck.casefile import CaseFolder, Shop
from livecheck.records import Complaint, Inventory, Machine
from tests.shares.bench import WHEN
from tests.shares.guest import Guest
from tests.shares.servers import serving

BENCHES = ("left", "right")


def played(sort: str, kernel: Path, work: Path, saves: int, killed: bool = False) -> dict[str, Any]:
    """Figures of one trial; ``wrong`` names what was lost or mixed."""
    served = work / "served"
    served.mkdir()
    machine = Inventory(machine=Machine(product="Wander 14"))
    case = Shop(served).open_case(machine, "T", Complaint.SLOW, WHEN)
    inside = Path("/mnt") / case.path.relative_to(served)
    begun = time.monotonic()
    with serving(sort, served, work / "server") as mount:
        guests = [Guest(kernel, work / name, mount, [str(inside), name, str(saves)])
                  for name in BENCHES]  # fmt: skip
        try:
            if killed:
                _until(guests[0], saves // 2)
                guests[0].process.kill()
            for one in guests:
                one.process.wait(900 + 4 * saves)
        finally:
            for one in guests:
                one.process.kill()
    said = {name: one.told("SAVED") for name, one in zip(BENCHES, guests, strict=True)}
    wrong = [*wrong_of(case, said)]
    wrong += [f"{name} did not come to its end: {one.said.read_text('utf-8', 'replace')[-600:]}"
              for name, one in zip(BENCHES, guests, strict=True)
              if "ENDED" not in one.said.read_text("utf-8", "replace") and not
              (killed and one is guests[0])]  # fmt: skip
    return {
        "share": sort, "saves": {name: len(all_) for name, all_ in said.items()},
        "processes": [one.told("PROCESS") for one in guests], "killed": killed, "wrong": wrong,
        "seconds": round(time.monotonic() - begun, 1),
    }  # fmt: skip


def _until(one: Guest, saved: int) -> None:
    while len(one.told("SAVED")) < saved and one.process.poll() is None:
        time.sleep(0.2)


def wrong_of(case: CaseFolder, said: dict[str, list[str]]) -> Iterator[str]:
    """What of that which the benches said they had saved does not stand there, whole and once."""
    every = [one for told in said.values() for one in told]
    loaded = case.load()
    # A bench that lost power may leave the folder of the run it was at, empty, and says so.
    yield from (words for words in loaded.damaged if "nothing was saved" not in words)
    starts = [run.started for run in loaded.runs]
    numbers = [run.number for run in loaded.runs]
    yield from (f"lost: {one}" for one in set(every) - set(starts))
    if len(set(starts)) != len(starts) or len(set(numbers)) != len(numbers):
        yield "a run stands there twice"
    tenths = {one for one in every if int(one.rpartition("-")[2]) % 10 == 0}
    spares = {one.removeprefix("serial:") for one in loaded.case.spares}
    proved, damaged = case.proved()
    yield from map(str, damaged)
    entries = Shop(case.path.parent.parent).entries()
    tickets = [json.loads(json.dumps(e.case.ticket)) for e in entries if e.case is not None]
    for what, found in (("spare", spares), ("outcome", {p.recorded for p in proved}),
                        ("case", set(tickets))):  # fmt: skip
        yield from (f"lost {what}: {one}" for one in tenths - found)
    if len(tickets) != len(set(tickets)):
        yield "one ticket, two cases"
