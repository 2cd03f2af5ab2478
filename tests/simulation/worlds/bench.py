"""A machine of one world on the bench: what is in it, what is wrong, and what a run shows."""

from __future__ import annotations

import random
from collections.abc import Sequence

from livecheck.records import Answer, Complaint, Knowledge, Outcome, Presence, Reading, Run
from tests.simulation.bill import Bill
from tests.simulation.dice import weighted
from tests.simulation.laptops import AGAIN, ON_BENCH, Item, Laptop, inventory
from tests.simulation.worlds import checks, heat, kinds_board, kinds_other, kinds_parts, told
from tests.simulation.worlds.draw import World, oddities
from tests.simulation.worlds.fault import Fault
from tests.simulation.worlds.heat import Heat
from tests.simulation.worlds.kind import (
    BOARD,
    CONTACT,
    CONTROLLER,
    FIRMWARE,
    HUNG,
    LEAD,
    PART,
    PLACE,
    SETTING,
    SOFTWARE,
    UNKNOWN,
    Kind,
    Shares,
)
from tests.simulation.worlds.looks import MISSING, Acting, Looks, ended
from tests.simulation.worlds.machine import invent

SOUND_SAYS: Shares = {
    "intake": 4,
    "slow": 4,
    "unstable": 4,
    "switches-off": 2,
    "part-missing": 1.5,
    "not-charging": 1.5,
    "no-power": 0.7,
    "no-picture": 0.7,
}
"""What owners of sound machines complain of. Assumed."""
HARDWARE = (*kinds_parts.PARTS, *kinds_parts.BETWEEN, *kinds_board.BOARDS)
ALL = (*HARDWARE, *kinds_board.CURED_IN_PLACE, *kinds_other.SYSTEM, *kinds_other.NO_TABLE)


class Bench(Bill):
    """The machine, its faults, and the runs so far."""

    def __init__(self, seed: int, tables: Knowledge) -> None:
        self.world = self.drawn(seed)
        self.dice = random.Random(f"{seed}/case")
        self.knowledge = tables
        group = self._group()
        self.complaint = weighted(self.dice, SOUND_SAYS)
        self.laptop: Laptop = invent(self.dice, self.complaint)
        self.fitted: dict[str, Item] = dict(self.laptop.fitted)
        self.faults: list[Fault] = []
        while group and not self.faults:
            # A machine that has no such part has another fault.
            self._come_with(self._pick(group))
        if group and self.dice.random() < self.world.second:
            self.faults += self._inject(self._pick(HARDWARE))
        self.odd = oddities(self.dice, sound=not group)
        self.watts, self.rise = heat.design(self.dice, thin=self.odd.thin)
        if any(fault.kind.name == "worn battery" for fault in self.faults):
            self.odd = self.odd._replace(wear=self.dice.uniform(0.41, 0.8))
        self.came_with = tuple(self.faults)
        self.minutes = self.money = 0.0
        self.pace = self.world.habits.pace
        self.opened: set[str] = set()
        self.runs: list[Run] = []
        self.board = 1
        self.set_right = False
        self.items = {item.key: item for item in self.fitted.values()}
        self.homes = dict(self.fitted)
        self.seen: set[str] = set()
        self._last_end: tuple[str, int] | None = None

    def drawn(self, seed: int) -> World:
        """The world of a case: its own."""
        return World(seed)

    # --- What is wrong

    def _group(self) -> Sequence[Kind]:
        """The kinds its fault is one of; empty: it is sound."""
        world, where = self.world, self.dice.random()
        for share, group in (
            (world.sound, ()),
            (world.software, kinds_other.SYSTEM),
            (world.no_table, kinds_other.NO_TABLE),
            (world.in_place, kinds_board.CURED_IN_PLACE),
        ):
            if where < share:
                return group
            where -= share
        return HARDWARE

    def _come_with(self, kind: Kind) -> None:
        self.complaint = weighted(self.dice, kind.complaints)
        self.laptop = invent(self.dice, self.complaint)
        self.fitted = dict(self.laptop.fitted)
        self.faults = self._inject(kind)

    def _pick(self, group: Sequence[Kind]) -> Kind:
        return self.dice.choices(group, [kind.share for kind in group])[0]

    def _inject(self, kind: Kind) -> list[Fault]:
        """The fault at a fitting spot; empty where the machine has none."""
        own = self._spots_for(kind)
        if not own:
            return []
        fault = Fault(kind, self.dice.choice(own), self.world, self.dice)
        fault.hidden = fault.hidden and not self.laptop.dead
        return [fault]

    def _spots_for(self, kind: Kind) -> list[str]:
        if kind.seat in (BOARD, FIRMWARE, SOFTWARE, UNKNOWN):
            return [{BOARD: "mainboard"}.get(kind.seat, kind.seat)]
        controllers = [c.id for c in self.laptop.controllers if c.kind == kind.of]
        if kind.seat == CONTROLLER or (kind.seat == HUNG and controllers):
            return controllers
        if kind.seat == SETTING and kind.of == "*":
            return [SETTING]
        spots = self.laptop.spots
        places = [p for p, item in self.fitted.items() if item.kind == kind.of]
        if kind.seat in (PART, HUNG):
            return [self.fitted[p].key for p in places]
        socketed = [p for p in places if not self.fitted[p].soldered]
        if kind.seat == LEAD and kind.of == "drive":
            # A drive on a slot of the board itself has no lead.
            return [p for p in socketed if spots[p].place.kind == "sata-port"]
        if kind.of == "usb-device":
            return [p for p, spot in spots.items() if spot.takes == kind.of]
        return socketed if kind.seat in (PLACE, CONTACT) else places

    def unit(self, fault: Fault) -> str:
        """What is ordered, or done, to be rid of a fault, in this referee's words."""
        seat = fault.kind.seat
        if seat in (CONTROLLER, BOARD, PLACE):
            return "mainboard"
        if seat == PART:
            return "mainboard" if self.items[fault.where].soldered else fault.where
        return f"lead:{fault.where}" if seat == LEAD else seat

    def left(self) -> list[Fault]:
        """Faults not yet repaired, in the machine or on the table beside it."""
        return [fault for fault in self.faults if not fault.gone]

    def present(self) -> list[Fault]:
        """Faults that are in the machine as it stands."""
        inside = {item.key for item in self.fitted.values()}
        parts = set(self.items)
        return [f for f in self.left() if f.where not in parts or f.where in inside]

    # --- Looking

    def look(self, checks: Sequence[str] = (), *, depth: str = "quick", **note: object) -> Run:
        """One run of the machine as it stands; ``checks``: only these, by meter."""
        readings, silent, finished = self._readings(checks, depth)
        answers = [*note.pop("answers", ())]  # type: ignore[misc]
        answers += self._slots(silent)
        seen_inside = self._watch()
        if seen_inside is not None:
            answer, more = told.where_shown(*seen_inside)
            answers, readings = [*answers, answer], [*readings, *more]
        run = self._run(self.fitted, silent, readings, depth, answers, finished, **note)
        self.runs.append(run)
        self.seen |= {part.id for part in run.inventory.parts}
        for fault in self.present():
            fault.age(self.dice)
        return run

    def _run(
        self,
        fitted: dict[str, Item],
        silent: set[str],
        readings: Sequence[Reading],
        depth: str,
        answers: Sequence[Answer],
        finished: bool,
        **note: object,
    ) -> Run:
        board = "BRD-BENCH" if note.get("in_known_good_machine") else f"BRD-{self.board}"
        return Run(
            number=len(self.runs) + 1,
            started="2024-01-01T09:00:00Z",
            complaint=Complaint(self.complaint),
            depth=depth,
            inventory=inventory(self.laptop, fitted, silent, board),
            readings=tuple(readings),
            answers=tuple(answers),
            known_good=self._vouched(fitted),
            finished=finished,
            **note,  # type: ignore[arg-type]
        )

    def _vouched(self, fitted: dict[str, Item]) -> tuple[str, ...]:
        """What the technician flags as known-good: as a rule the spares."""
        good = [item.identity for item in fitted.values() if item.spare and item.identity]
        if good and self.dice.random() < self.world.habits.wrong_flag:
            own = [i.identity for i in fitted.values() if not i.spare and i.identity]
            good = [*good[1:], *own[:1]] if self.dice.random() < 0.5 else []
        return tuple(good)

    def _readings(self, only: Sequence[str], depth: str) -> tuple[list[Reading], set[str], bool]:
        hours = self.dice.uniform(0.1, 0.35) if depth == "quick" else self.dice.uniform(0.5, 1.0)
        now = self._heat(depth)
        acting = [
            Acting(fault, self.dice.gauss(0.0, 1.0))
            for fault in self.present()
            if fault.acts(hours, now.hot or self.laptop.dead, self.dice)
        ]
        self._acting = [one.fault for one in acting]
        own = frozenset(key for key in self.items if self.items[key].spare)
        looks = Looks(
            self.laptop,
            self.fitted,
            self.odd,
            self.world,
            self.knowledge,
            self.dice,
            own,
            self.set_right,
        )
        if only or self.laptop.dead:
            asked = only or (AGAIN if self.runs else ON_BENCH[self.complaint])
            wanted = [c for c in asked if only or c in ON_BENCH[self.complaint]]
            return looks.bench(wanted, acting), set(), True
        silent = self._silent(acting)
        tests = checks.ALL_TESTS if depth != "quick" else checks.TESTS[self.complaint]
        made = looks.readings(acting, silent, tests, now)
        cause = self._death(acting, now)
        before, self._last_end = self._last_end, None
        if before is not None:
            made += ended(*before)
        elif not self.runs and self.odd.crash_told:
            made += ended("panic", None)
        if cause:
            self._last_end = (cause, len(self.runs) + 1)
            made = [one for one in made if self.dice.random() < 0.6]
        return made, silent, not cause

    def _heat(self, depth: str) -> Heat:
        """The heat of this run: the load of the moment on the machine's own scale."""
        factor = 1.0
        for fault in self.present():
            factor *= fault.heat if fault.steady or self.dice.random() < 0.5 else 1.0
        high = depth != "quick" or "heat" in checks.TESTS.get(self.complaint, ())
        load = self.dice.uniform(0.85, 1.0) if high else self.dice.uniform(0.35, 0.8)
        room = self.world.room
        fan = any(f.kind.name == "dead fan" and f.heat > 1.6 for f in self.present())
        return Heat(room, self.watts, room + self.rise * factor, load, fan)

    def _death(self, acting: Sequence[Acting], now: Heat) -> str:
        """How the machine goes off in this run; empty: it does not."""
        if now.dies and self.dice.random() < 0.6:
            return "hot"
        if self.complaint not in ("switches-off", "unstable"):
            return ""
        for fault, _ in acting:
            if fault.kind.ends and self.dice.random() < 0.4:
                told_right = self.dice.random() < 0.85
                return fault.kind.ends if told_right else self.dice.choice(("restart", "cool"))
        return ""

    def _silent(self, acting: Sequence[Acting]) -> set[str]:
        """Places whose part does not answer in this run."""
        silent = set()
        for fault, mood in acting:
            for place, item in self.fitted.items():
                spot = self.laptop.spots[place].place
                felt = fault.where in (place, item.key, spot.controller)
                if felt and spot.kind in MISSING and fault.shows(mood, "silent", self.dice):
                    silent.add(place)
        return silent

    def _slots(self, silent: set[str]) -> list[Answer]:
        """What the technician says unasked of parts that do not answer."""
        if not self.runs or self.dice.random() >= self.world.habits.tells_slot:
            return []
        return [self.slot_told(place) for place in sorted(silent)]

    def slot_told(self, place: str) -> Answer:
        """Which part is in a place."""
        item = self.fitted[place]
        home = next((p for p, one in self.homes.items() if one.key == item.key), place)
        known = item.key in self.seen or item.spare
        return told.part_is(place, item, item.key if known else f"{item.kind}@{home}")

    def _watch(self) -> tuple[bool, bool] | None:
        """Where the complaint shows, if the technician looks and says it this time."""
        chance = self.world.habits.watches[bool(self.runs)]
        if self.laptop.dead or self.dice.random() >= chance:
            return None
        inside = any(self.dice.random() < f.kind.inside for f in self._acting)
        outside = any(self.dice.random() < f.kind.outside for f in self._acting)
        return inside or self.dice.random() < 0.03, outside or self.dice.random() < 0.02

    def failed(self) -> bool:
        """Whether anything failed in the last run."""
        return any(one.outcome is Outcome.FAILED for one in self.runs[-1].readings)

    def silent_places(self) -> list[str]:
        """Places where nothing answered in the last run."""
        places = self.runs[-1].inventory.places
        return [p.id for p in places if p.presence is Presence.NOTHING_ANSWERS]
