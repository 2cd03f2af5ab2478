"""Small machines on which the best possible policy can be found by exhaustive search.

One drive in one port of one controller, one check. The faults, their chances and the
costs are the tables' own, so the figures compare decisions only: both the program
and the search know the same. Both may reseat, swap with a known-good drive, put the
own drive back, test it in a known-good machine, order a unit, repair the installed
system or hand the machine back; handing back or ordering wrongly is paid for until the
repair is proven. Nothing is sampled: every outcome is followed with its chance.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NamedTuple

import msgspec

from livecheck import knowledge
from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import (
    Blame,
    BoardReplaced,
    Check,
    Complaint,
    Controller,
    Inventory,
    Knowledge,
    Location,
    Machine,
    Outcome,
    Part,
    Place,
    Reading,
    Run,
    Side,
)

CONTROLLER: Final = "pci:0000:00:17.0"
PORT: Final = f"ata:{CONTROLLER}:1"
OWN, SPARE, NEW = "drive:OWN1", "drive:SPARE1", "drive:NEW1"
CHECK: Final = "storage.answers"
TRIAL: Final = 5.0
COMEBACK: Final = 45.0
SYSTEM: Final = 60.0
HOUR: Final = 60.0
DEPTH: Final = 6
BARRED: Final = (
    Action.SOAK,
    Action.DEEPER,
    Action.MEASURE,
    Action.REFLASH,
    Action.MINIMUM,
    Action.REMOVE,
    Action.CLEAN_CONTACTS,
    # The drive plugs into the board here.
    Action.EXCHANGE_LEAD,
    Action.POWER_AWAY,
    Action.INSPECT,
)

Weights = Mapping[str, float]
"""What may be wrong -> its joint chance with all that was seen so far."""


class Small(NamedTuple):
    """One small model."""

    detect: float
    ratio: float
    """Factor on the port's weight."""
    machine: bool
    """True: the bench has a known-good machine."""


MODELS: Final = tuple(
    Small(detect, ratio, machine)
    for detect in (0.95, 0.6)
    for ratio in (1.0, 4.0)
    for machine in (True, False)
)


class State(NamedTuple):
    """The machine as it stands."""

    drive: str = OWN
    touched: bool = False
    """True: the first contact has been made anew."""
    opened: bool = False
    ordered: frozenset[str] = frozenset()


class Bill(NamedTuple):
    """Expected cost."""

    minutes: float = 0.0
    money: float = 0.0

    @property
    def total(self) -> float:
        """Minutes, money turned into minutes by the price of a bench hour."""
        return self.minutes + HOUR * self.money

    def plus(self, other: Bill, share: float = 1.0) -> Bill:
        """This and ``share`` of the other."""
        return Bill(self.minutes + share * other.minutes, self.money + share * other.money)


class Game:
    """The rules of one small model."""

    def __init__(self, model: Small) -> None:
        self.model = model
        self.tables = _tables(model)
        self.cannot = (*BARRED, *(() if model.machine else ("no known-good machine",)))

    def start(self) -> Weights:
        """Chances of everything that may be wrong, together with a first failing run."""
        bench, first = Resources(cannot=self.cannot), [self.run(1, State(), None)]
        blank = locate("small", first, self.tables, bench, max_faults=1)
        prior = {one.component: one.probability for one in blank.candidates}
        prior["none"] = blank.sides[Side.NO_FAULT.value]
        return self.after(prior, State(), failed=True)

    def after(
        self, weights: Weights, state: State, *, failed: bool, in_known_good_machine: bool = False
    ) -> Weights:
        """The weights after one more trial."""
        chances = {what: self._fails(what, state, in_known_good_machine) for what in weights}
        return {
            what: mass * (chances[what] if failed else 1 - chances[what])
            for what, mass in weights.items()
        }

    def _fails(self, what: str, state: State, in_known_good_machine: bool) -> float:
        false_alarm = self.tables.checks[CHECK].false_alarm
        shows = unit(what) not in state.ordered
        if what == OWN:
            shows = shows and (state.drive == OWN or in_known_good_machine)
        elif what.startswith("contact:"):
            shows = not state.touched and not in_known_good_machine
        elif what in (PORT, CONTROLLER):
            shows = shows and not in_known_good_machine
        else:
            shows = False
        return 1 - (1 - false_alarm) * (1 - self.model.detect * shows)

    def hands(self, kind: str, state: State, *, reseat: bool = False) -> float:
        """Minutes at a part, with the covers before it and a trial."""
        row = self.tables.kinds[kind]
        minutes = (row.reseat_minutes if reseat else row.swap_minutes) or 0.0
        covers = [c for c in row.behind if not (state.opened and c == "bottom cover")]
        return minutes + TRIAL + sum(self.tables.bench.covers[c].minutes for c in covers)

    def repair(self, what: str, state: State) -> Bill:
        """What it costs to be rid of a fault that is known."""
        if what == "none" or what.startswith("contact:"):
            return Bill()
        if what == "software":
            return Bill(SYSTEM)
        kind = unit(what)
        return Bill(self.hands(kind, state), self.tables.kinds[kind].price or 0.0)

    def hand_back(self, weights: Weights, state: State) -> Bill:
        """Close the case: what is still wrong comes back."""
        bill = Bill()
        for what, mass in weights.items():
            gone = unit(what) in state.ordered or what == "none"
            gone = gone or (what.startswith("contact:") and state.touched)
            if not gone:
                bill = bill.plus(Bill(COMEBACK).plus(self.repair(what, state)), mass)
        return bill

    def run(self, number: int, state: State, failed: bool | None, **note: object) -> Run:
        """A run as the program would see it."""
        outcome = Outcome.FAILED if failed else Outcome.PASSED
        readings = (Reading(check=CHECK, at=state.drive, outcome=outcome),)
        return Run(
            number=number,
            started="2024-01-01T09:00:00Z",
            complaint=Complaint.PART_MISSING,
            inventory=_inventory(state),
            readings=readings if failed is not None else (),
            known_good=("serial:SPARE1", "serial:NEW1"),
            **note,  # type: ignore[arg-type]
        )


def unit(what: str) -> str:
    """Kind of unit that cures a fault."""
    if what in (PORT, CONTROLLER, "mainboard"):
        return "mainboard"
    return {OWN: "drive"}.get(what, what)


def _inventory(state: State) -> Inventory:
    serial = state.drive.partition(":")[2]
    board = "BRD-2" if "mainboard" in state.ordered else "BRD-1"
    return Inventory(
        machine=Machine(board_serial=board, product="Sim 1"),
        controllers=(Controller(id=CONTROLLER, kind="sata-controller", name="SATA controller"),),
        places=(Place(id=PORT, kind="sata-port", name="port 1", controller=CONTROLLER),),
        parts=(
            Part(
                id=state.drive, kind="drive", name=serial, place=PORT, identity=f"serial:{serial}"
            ),
        ),
    )


def _tables(model: Small) -> Knowledge:
    built_in = knowledge.load()
    kinds = dict(built_in.kinds)
    kinds["sata-port"] = msgspec.structs.replace(
        kinds["sata-port"], weight=kinds["sata-port"].weight * model.ratio
    )
    blames = tuple(
        Blame(who=who, detect=model.detect, source="invented")
        for who in ("part", "place", "controller")
    )
    check = Check(
        name=CHECK, question="?", false_alarm=0.002, false_alarm_source="invented", blames=blames
    )
    return msgspec.structs.replace(built_in, checks={CHECK: check}, kinds=kinds)


# --- The best possible


def best(game: Game, weights: Weights, state: State, depth: int = DEPTH) -> Bill:
    """Least expected cost over every sequence of steps (weighted, not normalised)."""
    mass = sum(weights.values())
    options = [game.hand_back(weights, state)]
    if depth > 0 and mass > 1e-4:
        options += [_trial(game, weights, state, name, depth) for name in _trials(game, state)]
        orders = [u for u in ("drive", "mainboard", "software") if u not in state.ordered]
        options += [_order(game, weights, state, ordered, depth) for ordered in orders]
    return min(options, key=lambda bill: bill.total)


def _trials(game: Game, state: State) -> list[Action]:
    if "drive" in state.ordered:
        return []
    names = [Action.RESEAT, Action.SWAP if state.drive == OWN else Action.PUT_BACK]
    return names + ([Action.KNOWN_GOOD_MACHINE] if game.model.machine else [])


def step(game: Game, state: State, name: str) -> tuple[State, float, bool]:
    """(State, minutes, in another machine) after a trial."""
    if name == Action.KNOWN_GOOD_MACHINE:
        minutes = (
            game.hands("drive", state) + game.hands("drive", state._replace(opened=True)) - TRIAL
        )
        return state._replace(touched=True, opened=True), minutes, True
    minutes = game.hands("drive", state, reseat=name == Action.RESEAT)
    drive = {Action.SWAP.value: SPARE, Action.PUT_BACK.value: OWN}.get(name, state.drive)
    return State(drive, True, True, state.ordered), minutes, False


def _trial(game: Game, weights: Weights, state: State, name: str, depth: int) -> Bill:
    now, minutes, in_known_good_machine = step(game, state, name)
    bill = Bill(minutes * sum(weights.values()))
    for failed in (True, False):
        left = game.after(weights, now, failed=failed, in_known_good_machine=in_known_good_machine)
        bill = bill.plus(best(game, left, now, depth - 1))
    return bill


def _order(game: Game, weights: Weights, state: State, ordered: str, depth: int) -> Bill:
    """A unit is fitted; whether that was all shows for certain."""
    left, now, bill = ordering(game, weights, state, ordered)
    return bill.plus(best(game, left, now, depth - 1)) if left else bill


def ordering(
    game: Game, weights: Weights, state: State, ordered: str
) -> tuple[Weights, State, Bill]:
    """(What may still be wrong, state, cost) after fitting a unit."""
    price = game.repair({"drive": OWN}.get(ordered, ordered), state)
    bill = Bill().plus(price, sum(weights.values()))
    drive = NEW if ordered == "drive" else state.drive
    opened = state.opened or ordered != "software"
    now = State(drive, state.touched or opened, opened, state.ordered | {ordered})
    left = {
        what: mass
        for what, mass in weights.items()
        if unit(what) != ordered and what != "none" and not what.startswith("contact:")
    }
    return left, now, bill


# --- The program


def ours(game: Game, weights: Weights, state: State, runs: tuple[Run, ...], left: int = 12) -> Bill:
    """Expected cost of doing what the program says, every outcome followed."""
    mass = sum(weights.values())
    found = locate("small", runs, game.tables, Resources(cannot=game.cannot), max_faults=1)
    if mass < 1e-4 or left == 0:
        return game.hand_back(weights, state)
    ordered = _ordered(found)
    if ordered is not None and ordered not in state.ordered:
        rest, now, bill = ordering(game, weights, state, ordered)
        if not rest or ordered == "software":
            return bill.plus(game.hand_back(rest, now))
        answers = (BoardReplaced(),) if ordered == "mainboard" else ()
        # What is left fails for certain: the fault was not cured.
        after = (*runs, game.run(len(runs) + 1, now, True, answers=answers))
        return bill.plus(ours(game, rest, now, after, left - 1))
    named = found.next_step
    if named is None or named.action not in (
        Action.RESEAT,
        Action.SWAP,
        Action.PUT_BACK,
        Action.KNOWN_GOOD_MACHINE,
    ):
        return game.hand_back(weights, state)
    now, minutes, in_known_good_machine = step(game, state, named.action)
    bill = Bill(minutes * mass)
    for failed in (True, False):
        rest = game.after(weights, now, failed=failed, in_known_good_machine=in_known_good_machine)
        bill = bill.plus(
            ours(game, rest, now, (*runs, _seen(game, runs, named.action, now, failed)), left - 1)
        )
    return bill


def _ordered(found: Location) -> str | None:
    if found.side is Side.SOFTWARE:
        return "software"
    if found.side in (Side.DEVICE, Side.CONTROLLER):
        return found.unit
    named = found.next_step
    if named is not None and named.action == Action.REPAIR_SYSTEM:
        return "software"
    if named is not None and named.action == Action.REPLACE:
        return next(c.unit for c in found.candidates if c.component == named.target)
    return None


def _seen(game: Game, runs: tuple[Run, ...], name: str, state: State, failed: bool) -> Run:
    number = len(runs) + 1
    if name == Action.RESEAT:
        return game.run(number, state, failed, reseated=(PORT,))
    if name == Action.KNOWN_GOOD_MACHINE:
        return game.run(number, state._replace(drive=OWN), failed, in_known_good_machine=True)
    return game.run(number, state, failed)


def compare() -> tuple[dict[str, float], dict[str, float]]:
    """(Optimum, ours) over all models: mean minutes, money and total."""
    rows: tuple[list[Bill], list[Bill]] = ([], [])
    for model in MODELS:
        game = Game(model)
        weights = game.start()
        mass = sum(weights.values())
        first = (game.run(1, State(), True),)
        for row, bill in zip(
            rows,
            (best(game, weights, State()), ours(game, weights, State(), first)),
            strict=True,
        ):
            row.append(Bill(bill.minutes / mass, bill.money / mass))
    return _mean(rows[0]), _mean(rows[1])


def _mean(bills: list[Bill]) -> dict[str, float]:
    count = len(bills)
    return {
        "models": float(count),
        "bench_minutes": round(sum(b.minutes for b in bills) / count, 3),
        "money": round(sum(b.money for b in bills) / count, 4),
        "total_minutes": round(sum(b.total for b in bills) / count, 3),
    }
