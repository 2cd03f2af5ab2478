"""The technician: asks the program what to do, does it, writes the next run."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Final, NamedTuple

from tests.referee.bench import TAKES, Bench, Json

MOST_STEPS: Final = 12


class Ended(NamedTuple):
    """How a case went."""

    fault: str
    steps: int
    bought: tuple[str, ...]
    """Kinds of the units that were bought."""
    wrong: int
    """Of them, bought in vain."""
    side: str
    cured: bool


class Player:
    """One case, played through its folder."""

    def __init__(self, folder: Path, bench: Bench) -> None:
        self.folder = folder
        self.bench = bench
        self.number = 0
        self.bought: list[str] = []
        self.wrong = 0
        self.cannot: list[str] = []
        self._save_case()
        self.look()

    def play(self) -> Ended:
        """Until the program proposes nothing more."""
        found = self.locate()
        steps = 0
        while found["next_step"] is not None and steps < MOST_STEPS:
            steps += 1
            self._do(found["next_step"], found)
            found = self.locate()
        if found["side"] == "device" and not self.bought:
            # The spare works in its stead: one is ordered.
            self._buy(found["unit"], found["component"])
        return Ended(
            self.bench.fault.name, steps, tuple(self.bought), self.wrong, found["side"],
            self.bench.gone or not self.bench.acts,
        )  # fmt: skip

    def locate(self) -> Json:
        """What the program says."""
        words = [sys.executable, "-m", "livecheck", "locate", str(self.folder), "--json"]
        done = subprocess.run(words, capture_output=True, text=True, check=True)
        found: Json = json.loads(done.stdout)
        return found

    def look(self, **note: object) -> None:
        """Another run."""
        self.number += 1
        target = self.folder / "runs" / f"{self.number:04d}" / "run.json"
        target.parent.mkdir(parents=True)
        target.write_text(json.dumps(self.bench.run(self.number, **note)), encoding="utf-8")

    def _save_case(self) -> None:
        self.folder.mkdir(parents=True, exist_ok=True)
        case = {
            "schema": 2,
            "id": self.folder.name,
            "ticket": None,
            "complaint": self.bench.fault.complaint,
            "machine": {"vendor": "Invented", "product": "Fair 13"},
            "opened": "2026-01-01T09:00:00Z",
            "cannot": self.cannot,
        }
        (self.folder / "case.json").write_text(json.dumps(case), encoding="utf-8")

    def _do(self, step: Json, found: Json) -> None:
        if step["action"] == "replace":
            named = (c for c in found["candidates"] if c["component"] == step["target"])
            self._buy(next(named)["unit"], step["target"])
        elif not HANDS.get(step["action"], Player._nothing)(self, step):
            self.cannot.append(f"{step['action']}: {step['target']}")
            self._save_case()

    def _nothing(self, step: Json) -> bool:
        """What this technician has no hands for."""
        return False

    def _place(self, target: str) -> str | None:
        """Where a part is, or came from; of one that never answered its id names the place."""
        held = self.bench.parts.items()
        inside = (place for place, serial in held if target == f"{TAKES[place]}:{serial}")
        home = (p for p, serial in self.bench.home.items() if target.endswith(serial))
        named = (place for place in TAKES if target.endswith(f"@{place}"))
        return next(inside, next(home, next(named, None)))

    def _reseat(self, step: Json) -> bool:
        self.bench.touch(step["target"])
        self.look(reseated=[step["target"]])
        return True

    def _swap(self, step: Json) -> bool:
        place = step["to"]
        serial = self.bench.spare(place)
        self.look(answers=[self._is(place, serial, known_good=True)])
        return True

    def _back(self, step: Json) -> bool:
        place = self._place(step["target"])
        if place is None:
            return False
        self.bench.parts[place] = self.bench.home[place]
        self.bench.touch(place)
        self.look(answers=[{"told": "first part back", "place": place}])
        return True

    def _remove(self, step: Json) -> bool:
        place = self._place(step["target"])
        if place is None or place not in self.bench.parts:
            return False
        del self.bench.parts[place]
        self.look()
        return True

    def _move(self, step: Json) -> bool:
        here, there = self._place(step["target"]), step["to"]
        if here is None or here not in self.bench.parts:
            return False
        parts = self.bench.parts
        serial, other = parts.pop(here), parts.pop(there, None)
        parts[there] = serial
        if other is not None:
            parts[here] = other
        self.bench.touch(here)
        self.look(answers=[self._is(there, serial, known_good=serial in self.bench.spares)])
        return True

    def _again(self, step: Json) -> bool:
        self.look(depth="full" if step["action"] == "deeper probe" else "quick")
        return True

    def _flash(self, step: Json) -> bool:
        self.look(answers=[{"told": "firmware flashed"}])
        return True

    def _is(self, place: str, serial: str, *, known_good: bool) -> Json:
        key = f"{TAKES[place]}:{serial}"
        seen = self.bench.home.get(place) != serial or known_good
        own = key if seen else f"{TAKES[place]}@{place}"
        return {
            "told": "part is",
            "place": place,
            "name": serial,
            "key": own,
            "known_good": known_good,
        }

    def _buy(self, unit: str, component: str) -> None:
        bench, place = self.bench, self._place(component)
        self.bought.append(unit)
        self.wrong += bench.gone or unit != bench.unit()
        if unit == bench.unit():
            bench.gone = True
        if unit == "mainboard":
            bench.board += 1
            self.look(answers=[{"told": "board replaced"}])
            return
        if place is not None and bench.parts.get(place) not in bench.spares:
            bench.spare(place)
        self.look()


HANDS: Final[dict[str, Callable[[Player, Json], bool]]] = {
    "reseat": Player._reseat,
    "swap with known-good": Player._swap,
    "put back": Player._back,
    "remove": Player._remove,
    "move to another place": Player._move,
    "longer soak": Player._again,
    "deeper probe": Player._again,
    "re-flash firmware": Player._flash,
}
"""The program's words for steps -> hands; any other it says it cannot do."""
