"""One invented machine with its hidden faults: plays steps and answers with runs."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence

import msgspec

from livecheck.diagnosis import worksheet_machine
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import (
    AllPowerAway,
    Answer,
    BoardReplaced,
    CleanedPart,
    Complaint,
    FirmwareFlashed,
    FirstPartBack,
    Inventory,
    Knowledge,
    PartIs,
    Presence,
    Reading,
    RepairedPart,
    Run,
    SettingPutRight,
)
from tests.simulation import faults
from tests.simulation.bill import COMEBACK_MINUTES, TRIAL_MINUTES
from tests.simulation.dice import bench_rule, read, told_apart, weighted
from tests.simulation.fault import Fault
from tests.simulation.faults import FaultType
from tests.simulation.laptops import (
    AGAIN,
    DEEPER,
    MISSING,
    ON_BENCH,
    ON_CARD,
    ON_MACHINE,
    ON_PART,
    Item,
    Laptop,
    invent,
    inventory,
)
from tests.simulation.population import OWN, Population
from tests.simulation.truth import Truth


class World(Truth):
    """The machine on the bench, its bill, and what is really wrong with it."""

    def __init__(self, seed: int, knowledge: Knowledge, population: Population = OWN) -> None:
        self.dice = random.Random(seed)
        self.population = population
        self.knowledge = knowledge
        kinds = [self._pick()]
        if kinds[0].role != "none" and self.dice.random() < population.second:
            kinds.append(self._pick())
        self.complaint = weighted(self.dice, kinds[0].complaints)
        self.laptop: Laptop = invent(self.dice, self.complaint)
        self.fitted: dict[str, Item] = dict(self.laptop.fitted)
        self.faults = [fault for kind in kinds if (fault := self._inject(kind)) is not None]
        self.units = frozenset(self.true_units())
        self.minutes = self.money = 0.0
        self.orders: list[str] = []
        self.wrong_boards = self.wrong_orders = self.wrong_reinstalls = 0
        self.opened: set[str] = set()
        self.runs: list[Run] = []
        self.cannot: tuple[str, ...] = ()
        self.spares, self.board = 0, 1
        self.pace = self.dice.lognormvariate(0.0, 0.15)
        self._alarms: dict[tuple[str, str], bool] = {}
        self._alarm_factor = self.dice.lognormvariate(0.0, population.alarms)
        self._items = {item.key: item for item in self.fitted.values()}
        self._homes = dict(self.fitted)
        self._seen: set[str] = set()

    # --- What is wrong

    def _pick(self) -> FaultType:
        types = (*faults.TYPES, faults.NOTHING)
        shares = [self.population.share(one.name, one.share) for one in types]
        return self.dice.choices(types, shares)[0]

    def _inject(self, kind: FaultType) -> Fault | None:
        """The fault at a fitting spot of this machine; None when it has none."""
        if kind.role in ("none",):
            return None
        if kind.role == "software":
            return Fault(kind, "software", self.dice, self.population)
        if kind.role == "board":
            return Fault(kind, "mainboard", self.dice, self.population)
        if kind.role == "controller":
            own = [c.id for c in self.laptop.controllers if c.kind == kind.kind]
        else:
            places = [p for p, item in self.fitted.items() if item.kind == kind.kind]
            own = [self.fitted[p].key for p in places] if kind.role == "part" else places
        if not own:
            return None
        return Fault(kind, self.dice.choice(own), self.dice, self.population)

    def present(self) -> list[Fault]:
        """Faults that are in the machine as it stands."""
        inside = {item.key for item in self.fitted.values()}
        return [
            fault
            for fault in self.faults
            if not fault.gone
            and (fault.type.role != "part" or fault.where in inside)
            and (fault.type.role != "contact" or fault.where in self.fitted)
        ]

    # --- Looking

    def look(self, checks: Sequence[str] = (), *, depth: str = "quick", **note: object) -> Run:
        """One run of the machine as it stands; ``checks``: only these, a measurement."""
        run = self._run(self.fitted, self.present(), checks, depth, **note)
        if self.runs:
            run = msgspec.structs.replace(run, answers=(*run.answers, *self._told(run)))
        self.runs.append(run)
        self._seen |= {part.id for part in run.inventory.parts}
        return run

    def _told(self, run: Run) -> list[PartIs]:
        """The technician knows which part is in a place where nothing answers."""
        silent = (p.id for p in run.inventory.places if p.presence is Presence.NOTHING_ANSWERS)
        return [self._there(place, self.fitted[place]) for place in silent if place in self.fitted]

    def _there(self, place: str, item: Item) -> PartIs:
        known = item.key in self._seen or item.spare
        key = item.key if known else f"{item.kind}@{self.home(item)}"
        return PartIs(place=place, name=key, key=key, known_good=item.spare)

    def _run(
        self,
        fitted: dict[str, Item],
        wrong: Sequence[Fault],
        checks: Sequence[str],
        depth: str,
        **note: object,
    ) -> Run:
        acting = [(one, self.dice.gauss(0, 1)) for one in wrong if self.dice.random() < one.acts]
        silent = self._silent(fitted, acting)
        board = f"BRD-{self.board}" if not note.get("in_known_good_machine") else "BRD-BENCH"
        told: Inventory = inventory(self.laptop, fitted, silent, board)
        readings: list[Reading] = []
        for check, at, spot in self._asked(fitted, silent, depth, checks):
            readings.append(self._reading(check, at, spot, fitted, acting))
        readings.extend(self._missing(fitted, silent, checks))
        readings = told_apart(readings)
        good = tuple(i.identity or i.key for i in fitted.values() if i.spare)
        return Run(
            number=len(self.runs) + 1,
            started="2024-01-01T09:00:00Z",
            complaint=Complaint(self.complaint),
            depth=depth,
            inventory=told,
            readings=tuple(readings),
            known_good=good,
            **note,  # type: ignore[arg-type]
        )

    def _silent(self, fitted: dict[str, Item], acting: Sequence[tuple[Fault, float]]) -> set[str]:
        if self.laptop.dead:
            return set()
        return {
            place
            for fault, mood in acting
            for place in self._touches(fault, fitted)
            if self.laptop.spots[place].place.kind in MISSING
            and fault.shows(mood, "silent", fault.type.silent, self.dice)
        }

    def _touches(self, fault: Fault, fitted: dict[str, Item]) -> list[str]:
        """Places at which a fault is felt."""
        role = fault.type.role
        if role == "part":
            return [place for place, item in fitted.items() if item.key == fault.where]
        if role in ("place", "contact"):
            return [fault.where] if fault.where in fitted else []
        if role == "controller":
            spots = self.laptop.spots
            return [p for p in fitted if spots[p].place.controller == fault.where]
        return []

    def _asked(
        self, fitted: dict[str, Item], silent: set[str], depth: str, only: Sequence[str]
    ) -> Iterable[tuple[str, str, str | None]]:
        """(check, component it is read at, place it concerns or None) of one run."""
        if self.laptop.dead:
            first = not self.runs
            asked = only or (ON_BENCH[self.complaint] if first else AGAIN)
            wanted = [c for c in asked if first or only or c in ON_BENCH[self.complaint]]
            known = (c for c in wanted if c in self.knowledge.checks)
            yield from ((c, self._bench_at(c), None) for c in known)
            return
        for place, item in fitted.items():
            if place in silent:
                continue
            own = item.key if item.identity else f"{item.kind}@{place}"
            checks = ON_PART.get(item.kind, ())
            if self.laptop.spots[place].place.kind == "pcie-slot":
                checks += ON_CARD
            if depth == "full":
                checks += DEEPER.get(item.kind, ())
            yield from (
                (check, own, place)
                for check in dict.fromkeys(checks)
                if check in self.knowledge.checks and (not only or check in only)
            )
        yield from ((c, self._bench_at(c), None) for c in only if c.startswith("bench."))
        for check, at in ON_MACHINE.items():
            if check in self.knowledge.checks and (not only or check in only):
                yield check, at, None

    def _bench_at(self, check: str) -> str:
        """Where the worksheet takes a check, in this machine."""
        where = bench_rule(check)
        kinds = {"adapter": "adapter", "battery": "battery", "panel": "panel"}
        if where in kinds:
            inside = (p for p, item in self.fitted.items() if item.kind == kinds[where])
            place = next(inside, None)
            if place is None:
                return "machine"
            item = self.fitted[place]
            return item.key if item.identity else f"{item.kind}@{place}"
        return worksheet_machine.WHERE[where]

    def _missing(
        self, fitted: dict[str, Item], silent: set[str], only: Sequence[str]
    ) -> Iterable[Reading]:
        """Whether the part in each place answers."""
        if self.laptop.dead or only:
            return
        modules = [p for p in fitted if self.laptop.spots[p].place.kind == "memory-slot"]
        if modules:
            lost = any(place in silent for place in modules)
            yield read("memory.modules-seen", "memory-controller", failed=lost)
        for place in fitted:
            check = MISSING.get(self.laptop.spots[place].place.kind)
            if check is None or place in modules:
                continue
            yield read(check, place, failed=place in silent)
            if place in silent and self.laptop.spots[place].takes == "wireless-card":
                yield read("wireless.present", place, failed=True)

    def _reading(
        self,
        check: str,
        at: str,
        spot: str | None,
        fitted: dict[str, Item],
        acting: Sequence[tuple[Fault, float]],
    ) -> Reading:
        failed = self._alarm(check, fitted[spot].key if spot is not None else at)
        for fault, mood in acting:
            rate = fault.type.shows.get(check, 0.0)
            if spot is not None and spot not in self._touches(fault, fitted):
                # A board's fault is felt wherever its type says; others only where they sit.
                rate = rate if fault.type.role == "board" else 0.0
            failed = fault.shows(mood, check, rate, self.dice) or failed
        return read(check, at, failed=failed)

    def _alarm(self, check: str, who: str) -> bool:
        """A false alarm: some come back in every run as long as the part is in."""
        chance = min(0.4, self.knowledge.checks[check].false_alarm * self._alarm_factor)
        key = (check, who)
        if key not in self._alarms:
            self._alarms[key] = self.dice.random() < self.population.stays * chance
        passing = (1.0 - self.population.stays) * chance
        return self._alarms[key] or self.dice.random() < passing

    # --- Hands

    def _touch(self, place: str) -> None:
        """A part came out and one went in: a contact is made anew."""
        for fault in self.faults:
            if fault.type.role == "contact" and fault.where == place:
                cured = self.dice.random() < self.population.contact_cured
                fault.gone = fault.gone or cured

    def find(self, key: str) -> Item | None:
        """The part behind a component id of the engine."""
        plain = key.partition(" (repaired")[0].removeprefix("bench/")
        if plain in self._items:
            return self._items[plain]
        return self._homes.get(plain.partition("@")[2]) if "@" in plain else None

    def place_of(self, item: Item) -> str | None:
        """Where a part sits; None: on the table."""
        return next((p for p, one in self.fitted.items() if one.key == item.key), None)

    def home(self, item: Item) -> str | None:
        """The place a part came from."""
        return next((p for p, one in self._homes.items() if one.key == item.key), None)

    def _spare(self, kind: str, place: str) -> tuple[Item, tuple[Answer, ...]]:
        self.spares += 1
        if kind in ("drive", "memory-module", "wireless-card", "battery") and not self.laptop.dead:
            serial = f"SPARE{self.spares:03d}"
            item = Item(f"{kind}:{serial}", kind, f"serial:{serial}", spare=True)
            answers: tuple[Answer, ...] = ()
        else:
            name = f"bench spare {self.spares}"
            item = Item(f"{kind}:{name}", kind, None, spare=True)
            answers = (PartIs(place=place, name=name, key=item.key, known_good=True),)
        self._items[item.key] = item
        if self.dice.random() < self.population.bad_spare:
            types = [t for t in faults.TYPES if t.role == "part" and t.kind == kind]
            if types:
                bad = Fault(self.dice.choice(types), item.key, self.dice, self.population)
                self.faults.append(bad)
        return item, answers

    # --- Steps, by the names the engine gives them

    def perform(
        self, action: str, target: str, to: str | None, parts: Sequence[str], checks: Sequence[str]
    ) -> None:
        """Do one step that is no repair, and look again."""
        item, actions = self.find(target), self.knowledge.bench.actions
        if action in (Action.RESEAT, Action.CLEAN_CONTACTS):
            self._reseat(target)
        elif action == Action.SWAP and to is not None:
            self.swap(to)
        elif action == Action.MOVE and item is not None and to is not None:
            self._move(item, to)
        elif action == Action.REMOVE and item is not None:
            self._take_out([item])
        elif action in (Action.MINIMUM, Action.HALF_BACK):
            some = [one for key in parts if (one := self.find(key)) is not None]
            (self._take_out if action == Action.MINIMUM else self._put_in)(some)
        elif action == Action.PUT_BACK and item is not None:
            self._put_in([item])
        elif action == Action.KNOWN_GOOD_MACHINE and item is not None:
            self._elsewhere(item)
        elif action == Action.DEEPER:
            self.minutes += actions.full_trial.minutes
            self.look(depth="full")
        elif action == Action.SOAK:
            self.minutes += actions.soak.minutes
            for _ in range(4):
                self.look()
        elif action == Action.MEASURE:
            self.minutes += actions.measurement.minutes
            self.look(checks)
        elif action == Action.CLEAN:
            self.clean()
        elif action == Action.REFLASH:
            self.spend("firmware")
            self.look(answers=(FirmwareFlashed(),))
        elif action == Action.EXCHANGE_LEAD and to is not None:
            self._reseat(to, (RepairedPart(component=target),))
        elif action in (Action.SETTING, Action.POWER_AWAY):
            away = action == Action.POWER_AWAY
            self.minutes += (
                actions.power_away if away else actions.setting
            ).minutes + TRIAL_MINUTES
            self.look(answers=(AllPowerAway() if away else SettingPutRight(component=target),))
        else:
            self.cannot = (*self.cannot, f"{action}: {target}")

    def _reseat(self, place: str, answers: tuple[Answer, ...] = ()) -> None:
        self.spend(self.laptop.spots[place].takes, reseat=True)
        self._touch(place)
        self.look(reseated=(place,), answers=answers)

    def swap(self, place: str) -> None:
        """Put a part the shop vouches for into a place, and look."""
        kind = self.laptop.spots[place].takes
        self.spend(kind)
        item, answers = self._spare(kind, place)
        self.fitted[place] = item
        self._touch(place)
        self.look(answers=answers)

    def _move(self, item: Item, to: str) -> None:
        self.spend(item.kind, reseat=True)
        here = self.place_of(item) or self.home(item)
        there = self.fitted.get(to)
        if here is not None:
            self.fitted.pop(here, None)
            if there is not None:
                self.fitted[here] = there
            self._touch(here)
        self.fitted[to] = item
        self._touch(to)
        self.look()

    def _take_out(self, items: Sequence[Item]) -> None:
        self.minutes += TRIAL_MINUTES
        for item in items:
            self.spend(item.kind, trial=False)
            place = self.place_of(item)
            if place is not None:
                del self.fitted[place]
                self._touch(place)
        self.look()

    def _put_in(self, items: Sequence[Item]) -> None:
        self.minutes += TRIAL_MINUTES
        answers: list[Answer] = []
        for item in items:
            self.spend(item.kind, trial=False)
            place = self.home(item)
            if place is not None:
                self.fitted[place] = item
                self._touch(place)
                if not item.identity:
                    answers.append(FirstPartBack(place=place))
        self.look(answers=tuple(answers))

    def _elsewhere(self, item: Item) -> None:
        self.spend(item.kind)
        self.spend(item.kind, trial=False)
        place = self.place_of(item) or self.home(item) or next(iter(self.laptop.spots))
        wrong = [f for f in self.left() if f.type.role == "part" and f.where == item.key]
        # A part that carries no identity is known because the technician carried it over.
        told = PartIs(place=place, name=item.key, key=item.key, known_good=item.spare)
        note = {"in_known_good_machine": True, "answers": () if item.identity else (told,)}
        run = self._run({place: item}, wrong, (), "quick", **note)
        other = () if self.laptop.dead else ("machine", *ON_MACHINE.values())
        kept = tuple(r for r in run.readings if r.at not in other)
        self.runs.append(msgspec.structs.replace(run, readings=kept))

    def clean(self) -> None:
        """Clean the cooling, and look."""
        self.spend("cooling", reseat=True)
        place = next(p for p, item in self.fitted.items() if item.kind == "cooling")
        for fault in self.faults:
            if fault.type.cleans and fault.where == self.fitted[place].key:
                fault.gone = True
        self.look(answers=(CleanedPart(part=f"cooling@{place}"),))

    # --- Repairs

    def unit_of(self, component: str, unit: str) -> str:
        """The engine's unit in the words of ``Fault.unit``."""
        item = self.find(component)
        if unit in ("mainboard", "power-jack", "panel-connector", "software", "firmware"):
            return unit
        return item.key if item is not None else unit

    def order(self, unit: str, kind: str) -> None:
        """Buy and fit a unit (a part's key, or a kind of the board's), and look again."""
        wrong = unit not in {fault.unit() for fault in self.left()}
        self.orders.append(unit)
        self.money += self._price(kind)
        self.wrong_orders += wrong
        self.wrong_boards += wrong and unit == "mainboard"
        self.spend(kind)
        item = self.find(unit)
        answers: tuple[Answer, ...] = ()
        for fault in self.faults:
            fault.gone = fault.gone or fault.unit() == unit
        if unit == "mainboard":
            self.board += 1
            for place in self.fitted:
                self._touch(place)
            answers = (BoardReplaced(),)
        elif item is not None:
            where = self.place_of(item) or self.home(item)
            if where is not None and not self._holds_spare(where):
                self.fitted[where], answers = self._spare(item.kind, where)
                self._touch(where)
        else:
            answers = tuple(
                RepairedPart(component=p)
                for p, spot in self.laptop.spots.items()
                if spot.place.kind == unit
            )
        self.look(answers=answers)

    def reinstall(self) -> None:
        """Put the installed system right; whether that helps, its owner sees."""
        self.minutes += self.knowledge.kinds["software"].swap_minutes or 60.0
        self.wrong_reinstalls += "software" not in {fault.unit() for fault in self.left()}
        self.orders.append("software")
        for fault in self.faults:
            fault.gone = fault.gone or fault.unit() == "software"

    def _holds_spare(self, place: str) -> bool:
        """True when the known-good part is in already: the new one takes its place unseen."""
        item = self.fitted.get(place)
        return item is not None and item.spare

    def close(self) -> bool:
        """Hand the machine back; what is still wrong comes back and is paid for. True: it did."""
        # A fault in a spare leaves with the spare.
        spares = {item.key for item in self._items.values() if item.spare}
        left = [fault for fault in self.left() if fault.where not in spares]
        for fault in left:
            self.minutes += COMEBACK_MINUTES
            unit = fault.unit()
            kind = self._items[unit].kind if unit in self._items else unit
            self.spend(kind)
            self.money += self._price(kind)
        return bool(left)
