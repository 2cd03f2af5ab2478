"""One start, or one sitting with the meter, as the records of it."""

from __future__ import annotations

from typing import cast

import msgspec

from livecheck.diagnosis import worksheet_machine
from livecheck.plan import complaint_readings
from livecheck.records import (
    Answer,
    Complaint,
    ComplaintShows,
    Inventory,
    Outcome,
    Reading,
    Run,
    WhereShown,
)  # fmt: skip
from tests.simulation.visits import sensors, sensors_power
from tests.simulation.visits.bench import BY_HAND, all_of, by_hand, worksheet_readings
from tests.simulation.visits.customer import met
from tests.simulation.visits.frame import inventory
from tests.simulation.visits.laptop import COOLING, JACK, Laptop
from tests.simulation.visits.physics import (
    Stretch,
    adapter_watts,
    battery_carries,
    stays_dark,
    stops,
)

DARK = ("no-power", "no-picture")
CHEAP = ("bench.life", "bench.external-screen", "bench.own-screen")
ENDS = {"hot": "ended.hot", "supply": "ended.supply", "battery": "ended.battery",
        "cool": "ended.cool", "panic": "ended.panic", "restart": "ended.restart",
        "hardware": "ended.hardware"}  # fmt: skip


class Record:
    """The runs of a case as they are made."""

    def __init__(self, laptop: Laptop, complaint: str) -> None:
        self.laptop, self.complaint = laptop, complaint
        self.runs: list[Run] = []
        self.watched: dict[str, str | None] = {}
        """Checks by hand or meter that belong to the complaint, and what they are made at."""
        self.ended = ""

    def keep(self, readings: list[Reading], tree: Inventory, **more: object) -> Run:
        """A run into the case."""
        number = len(self.runs) + 1
        answers = cast("tuple[Answer, ...]", more.pop("answers", ()))
        run = Run(
            number=number,
            started=f"2026-02-{1 + number // 20:02d}T{8 + number % 12:02d}:{number:02d}:00+00:00",
            complaint=Complaint(self.complaint),
            inventory=tree,
            readings=(*readings, *complaint_readings(answers)),
            answers=answers,
            as_root=True,
            known_good=tuple(f"serial:{p.serial}" for p in self.laptop.pieces.values()
                             if p.spare and p.named),
        )  # fmt: skip
        run = msgspec.structs.replace(run, **more)
        self.runs.append(run)
        return run

    def measured(self, checks: tuple[str, ...], target: str | None, **more: object) -> bool:
        """A sitting with meter, eye or hand; False: none of it can be done here."""
        readings = list(self._metered(set(checks)))
        starts = not stays_dark(self.laptop)
        for check in checks:
            if check in BY_HAND or check == "guided.usb-port":
                readings += by_hand(self.laptop, check, target) if starts else []
        if not readings:
            return False
        for one in readings:
            if one.outcome is Outcome.FAILED:
                self.watched[one.check] = target
        self.keep(readings, self._tree(readings), **more)
        return True

    def _metered(self, checks: set[str]) -> tuple[Reading, ...]:
        found = worksheet_readings(self.laptop, checks)
        tree = self._tree(found)
        return tuple(worksheet_machine.placed_here(found, tree))

    def _tree(self, readings: object) -> Inventory:
        if stays_dark(self.laptop) or self.complaint in DARK:
            return worksheet_machine.as_it_was(self.runs, readings)  # type: ignore[arg-type]
        return inventory(self.laptop)

    def dark(self, wanted: tuple[str, ...], **more: object) -> None:
        """A start that comes to nothing, or to no picture: the worksheet tells of it."""
        found = worksheet_readings(self.laptop, {*wanted, *self.watched})
        tree = worksheet_machine.as_it_was(self.runs, found)
        self.keep(list(worksheet_machine.placed_here(found, tree)), tree, **more)

    def first(self, **more: object) -> None:
        """What is done when the machine comes in: the worksheet, or the stick."""
        dice = self.laptop.dice
        if self.complaint in DARK:
            checks = tuple(c for c in all_of(self.complaint) if dice.random() < 0.85)
            self.dark(checks, **more)
            # Where something comes, some start it on another screen at once (assumed: half).
            if not stays_dark(self.laptop) and dice.random() < 0.5:
                self.start("quick")
            return
        if stays_dark(self.laptop):
            self.dark(CHEAP, **more)
            return
        self.start("quick", **more)

    def start(self, depth: str, **more: object) -> None:
        """A start from the stick; one that breaks off is followed by another."""
        laptop = self.laptop
        if stays_dark(laptop) or COOLING not in laptop.pieces:
            self.dark(CHEAP, **more)
            return
        battery = JACK not in laptop.pieces
        minutes = sensors.MINUTES[depth]
        use = Stretch(minutes, 1.0, moved=laptop.dice.choice([0, 0, 1, 1]), battery=battery)
        how = stops(laptop, use)
        if not how and battery and not battery_carries(laptop, 9.0):
            how = "battery"
        if how:
            self.keep([], inventory(laptop), finished=False, depth=depth, **more)
            self.ended, more, depth = how, {}, "quick"
            if not battery_carries(laptop, 9.0) and adapter_watts(laptop) < 9:
                return
        sheet = sensors.Sheet(laptop, depth, battery)
        for read in (sensors.drives, sensors.memory, sensors.cards, sensors.chips,
                     sensors_power.heat, sensors_power.power):  # fmt: skip
            read(sheet)
        self.keep([*sheet.found, *self._end(), *self._again()], inventory(laptop), depth=depth,
                  **more)  # fmt: skip
        if self.complaint in DARK:
            self.dark(CHEAP)

    def _end(self) -> list[Reading]:
        """How the start before ended, where the recorder caught it (assumed: six of seven)."""
        how, self.ended = self.ended, ""
        if not how or self.laptop.dice.random() < 0.15:
            return []
        tree = inventory(self.laptop)
        kinds = {"hot": "cooling", "supply": "adapter", "battery": "battery"}
        at = next((p.id for p in tree.parts if p.kind == kinds.get(how)), "machine")
        found = [Reading(check=ENDS[how], at=at, outcome=Outcome.FAILED)]
        cooler = next((p.id for p in tree.parts if p.kind == "cooling"), "machine")
        if how != "hot" and self.laptop.dice.random() < 0.8:
            found.append(Reading(check="ended.hot", at=cooler, outcome=Outcome.PASSED))
        return found

    def _again(self) -> list[Reading]:
        """What is complained of is tried by hand after each step, nine times of ten."""
        found: list[Reading] = []
        metered = {c for c in self.watched if c.startswith("bench.") and c not in BY_HAND}
        if metered and self.complaint not in DARK:
            found += self._metered(metered)
        for check, target in self.watched.items():
            if check not in metered and self.laptop.dice.random() < 0.9:
                found += by_hand(self.laptop, check, target)
        return found


def shows(laptop: Laptop, word: str, inside: bool) -> tuple[Answer, ...]:
    """Where the technician sees the trouble in some twenty minutes of trying."""
    if laptop.soft.trouble and inside:
        return (ComplaintShows(where=WhereShown.INSIDE),)
    if word in ("switches-off", "unstable") and not stays_dark(laptop):
        there = bool(stops(laptop, Stretch(20.0, 1.0, moved=2.0)))
    else:
        found = met(laptop) if not stays_dark(laptop) else {word: 99}
        steady = {one for one, weight in found.items() if weight > 18}
        there = word in {"part-missing" if o.startswith("missing ") else o for o in steady}
    return (ComplaintShows(where=WhereShown.OUTSIDE if there else WhereShown.NOWHERE),)
