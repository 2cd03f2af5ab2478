"""A visit from the counter to its end: what the program proposes is done, as far as it can be."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck import judgement, knowledge
from livecheck.casefile import Loaded
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import (
    BoardReplaced,
    Case,
    Complaint,
    FirstPartBack,
    Inventory,
    Knowledge,
    Location,
    NextStep,
    PartIs,
    PluggedIn,
    Remark,
    Run,
    Side,
)  # fmt: skip
from livecheck.records.answer_words import placed, understood
from livecheck.telling import telling as tells
from tests.simulation.visits.arrival import arrive
from tests.simulation.visits.cause import Befallen
from tests.simulation.visits.frame import at_place
from tests.simulation.visits.laptop import BAY, DIMMS, JACK, TAKES, WLAN, known_good
from tests.simulation.visits.played import Ordered, Played
from tests.simulation.visits.technician import ALL_MODULES, FORGETS, SKIPS, SPARES, Hands
from tests.simulation.visits.trial import Record, shows

MOST_STEPS: Final = 25
MISSING: Final = {
    "keyboard": "guided.keyboard", "touchpad": "guided.touchpad", "sound": "guided.sound-output",
    "microphone": "guided.sound-input", "camera": "guided.camera", "USB": "guided.usb-port",
}  # fmt: skip


class Player:
    """The technician over a case."""

    def __init__(self, seed: int, tables: Knowledge) -> None:
        self.arrival = arrive(seed)
        laptop, self.dice = self.arrival.laptop, self.arrival.laptop.dice
        self.tables = tables
        has = frozenset(k for k, chance in SPARES.items() if self.dice.random() < chance)
        self.hands = Hands(laptop, has)
        self.record = Record(laptop, self.arrival.telling.complaint)
        self.case = Case(
            id=f"visit-{seed}", opened="2026-02-01T08:00:00+00:00",
            complaint=Complaint(self.arrival.telling.complaint),
            told=self.arrival.telling.lines(),
            cannot=tuple(f"no spare: {kind}" for kind in SPARES if kind not in has),
        )  # fmt: skip
        if self.dice.random() < 0.4:
            self._cannot(judgement.NO_MACHINE)
        self.patience = MOST_STEPS if self.dice.random() < 0.9 else self.dice.randrange(4, 12)
        self.played = Played(self.arrival, self._begin())

    def _cannot(self, words: str) -> None:
        if words not in self.case.cannot:
            self.case = msgspec.structs.replace(self.case, cannot=(*self.case.cannot, words))

    @property
    def troubled(self) -> list[Befallen]:
        """What is still wrong."""
        return [one for one in self.arrival.causes if one.still(self.arrival.laptop)]

    def locate(self) -> Location:
        """What the program says."""
        loaded = Loaded(self.case, tuple(self.record.runs), ())
        return judgement.locate_case(loaded, self.tables)

    def _seen(self) -> tuple[object, ...]:
        word = self.arrival.telling.complaint
        return shows(self.arrival.laptop, word, self.arrival.telling.inside)

    def _begin(self) -> Location:
        """The first run; most shops try the customer's own system first, if they may."""
        answers = self._seen() if self.dice.random() < 0.55 else ()
        by_hand = MISSING.get(self.arrival.telling.missing)
        if by_hand is not None and self.dice.random() < 0.85:
            self.record.watched[by_hand] = None
        if self.arrival.telling.complaint == "wrong-picture" and self.dice.random() < 0.7:
            self.record.watched["guided.display"] = None
        self.record.first(answers=answers)
        return self.locate()

    def play(self) -> Played:
        """Until nothing is proposed, the technician has had enough, or the steps are out."""
        played = self.played
        self._say()
        while played.last.next_step is not None and played.steps < self.patience:
            step = played.last.next_step
            played.steps += 1
            done = self._do(step)
            played.minutes += step.minutes if done else 1.0
            played.last = self.locate()
            self._say(step, done)
        if played.last.next_step is None and not played.orders and self._wants_order():
            self._order(played.last.unit or "", played.last)
            self.record.start("quick")
            played.last = self.locate()
            self._say()
        played.cured = not self.troubled
        return played

    def _wants_order(self) -> bool:
        last = self.played.last
        named = last.side in (Side.DEVICE, Side.CONTROLLER) and last.unit
        return bool(named) and last.probability >= 0.5

    # --- Steps

    def _do(self, step: NextStep) -> bool:
        """One step, with what is told of it. False: it is said not to be possible."""
        rule = f"{step.action}: {step.target}"
        free = (Action.REPLACE, Action.ASK, Action.MEASURE)
        skips = step.action not in free and self.dice.random() < SKIPS
        if skips or not self._did(step):
            self._cannot(rule)
            return False
        return True

    def _did(self, step: NextStep) -> bool:
        if "power.holds-load" in step.checks:
            return self._on_battery()
        if step.action == Action.MEASURE:
            return self.record.measured(step.checks, step.target)
        if step.action == Action.KNOWN_GOOD_MACHINE:
            return self._elsewhere(step)
        if step.action == Action.ASK:
            return self._asked(step)
        if step.action == Action.REPLACE:
            return self._replace(step)
        told = tells(step, self.record.runs)
        if not self.hands.do(step):
            return False
        forgot = self.dice.random() < FORGETS
        answers = [] if told is None or forgot else [
            placed(understood(*one.split("=", 1)), self._tree()) for one in told.answers
        ]  # fmt: skip
        reseated = [] if told is None or forgot else list(told.reseated)
        reseated += self.hands.reseated
        self.hands.reseated.clear()
        if step.action == Action.PUT_BACK and not forgot:
            place = step.to or at_place(self.arrival.laptop, step.target)
            answers.append(FirstPartBack(place=place or ""))
        if step.action == Action.MOVE and not forgot:
            answers += self._moved(step)
        if self.dice.random() < 0.35:
            answers += self._seen()  # type: ignore[arg-type]
        depth = {Action.DEEPER: "full", Action.SOAK: "soak"}.get(Action(step.action), "quick")
        self.record.start(depth, answers=tuple(answers), reseated=tuple(reseated))
        return True

    def _tree(self) -> Inventory:
        return self.record.runs[-1].inventory

    def _moved(self, step: NextStep) -> list[PartIs]:
        """What has no number on a bus is told by name."""
        piece = self.arrival.laptop.fitted(step.to or "")
        if piece is None or piece.named:
            return []
        return [PartIs(place=step.to or "", name=piece.serial, known_good=piece.spare)]

    def _asked(self, step: NextStep) -> bool:
        place = at_place(self.arrival.laptop, step.target) or step.to
        piece = self.arrival.laptop.fitted(place or "")
        if place is None:
            return False
        own = piece is not None and piece.serial == self.arrival.laptop.home.get(place)
        swapped = any(s.place == place for s in self.played.last.swaps)
        if piece is None:
            answer: object = Remark(about=place, words="nothing")
        elif own:
            answer = FirstPartBack(place=place) if swapped else PluggedIn(place=place)
        else:
            key = f"{piece.kind}:{piece.serial}" if piece.named else None
            answer = PartIs(place=place, name=piece.serial, known_good=piece.spare, key=key)
        self.record.start("quick", answers=(answer,))
        return True

    def _on_battery(self) -> bool:
        """A start with the adapter out; it goes back in."""
        pieces = self.arrival.laptop.pieces
        if BAY not in pieces or JACK not in pieces:
            return False
        adapter = pieces.pop(JACK)
        self.record.start("quick")
        pieces[JACK] = adapter
        return True

    def _elsewhere(self, step: NextStep) -> bool:
        """The part in the shop's own machine, a sound one of the same build."""
        place = at_place(self.arrival.laptop, step.target)
        piece = self.arrival.laptop.fitted(place or "")
        if place is None or piece is None:
            return False
        if place not in (WLAN, JACK, *DIMMS) and piece.kind not in ("drive", "battery"):
            return False
        shop, place = known_good(place)
        shop.pieces[place] = piece
        other = Record(shop, self.arrival.telling.complaint)
        other.start("quick")
        run: Run = msgspec.structs.replace(
            other.runs[-1], number=len(self.record.runs) + 1, in_known_good_machine=True
        )
        self.record.runs.append(run)
        return True

    def _replace(self, step: NextStep) -> bool:
        found = self.played.last
        unit = next((c.unit for c in found.candidates if c.component == step.target), None)
        # Nobody buys the same thing a second time because it did not help.
        if unit in [one.unit for one in self.played.orders]:
            self.played.again += 1
            return False
        self._order(unit or "mainboard", found, step)
        return True

    def _order(self, unit: str, found: Location, step: NextStep | None = None) -> None:
        """A unit is bought and fitted, and the machine started again."""
        laptop, hands = self.arrival.laptop, self.hands
        worn = [one for one in self.arrival.worn if one.still(laptop)]
        right = any(unit in one.units for one in (*self.troubled, *worn))
        self.played.orders.append(Ordered(unit, right, found.probability))
        target = step.target if step is not None else found.component or ""
        answers: list[object] = []
        told = tells(step, self.record.runs) if step is not None else None
        if told is not None:
            answers = [placed(understood(*w.split("=", 1)), self._tree()) for w in told.answers]
        place = at_place(laptop, target)
        if target.endswith(ALL_MODULES):
            place = hands.bad_module()
        if unit == "mainboard":
            hands.new_board()
            answers = [BoardReplaced()]
        elif unit in TAKES.values():
            place = place if place in TAKES else next(p for p, k in TAKES.items() if k == unit)
            own = laptop.fitted(place)
            if own is None or not own.spare or own.dead:
                hands.put(place, hands.new(unit, place, spare=False))
            gone = own.serial if own is not None and not own.spare else laptop.home.get(place, "")
            laptop.shelf.pop(gone, None)
        else:
            self._mend_place(unit, place)
        if step is not None:
            self.record.start("quick", answers=tuple(answers))

    def _mend_place(self, unit: str, place: str | None) -> None:
        laptop = self.arrival.laptop
        fresh = type(laptop.jack)()
        if unit == "power-jack":
            laptop.jack = fresh
        elif unit == "panel-connector":
            laptop.panel_lead = fresh
        elif unit == "drive-lead":
            laptop.drive_lead = fresh
        elif unit == "antenna-lead":
            laptop.antenna = fresh
        elif unit == "usb-port":
            laptop.usb_worn.clear()
        elif unit == "power-button":
            laptop.board.button_ohms = 2.0
        elif place is not None:
            self.hands.seat(place)

    # --- What is told of it

    def _say(self, step: NextStep | None = None, done: bool = True) -> None:
        lines, last = self.played.lines, self.played.last
        if step is not None:
            mark = "" if done else " (not done)"
            where = f" to {step.to}" if step.to else ""
            lines.append(f"  > {step.action}: {step.target}{where} {' '.join(step.checks)}{mark}")
        run = self.record.runs[-1]
        failed = [f"{r.check}@{r.at}" for r in run.readings if r.outcome.value == "failed"]
        lines.append(f"run {run.number}{'' if run.finished else ' (broke off)'}: "
                     f"{', '.join(failed) or 'nothing failed'}")  # fmt: skip
        told = [type(a).__name__ + ":" + str(getattr(a, "where", "")) for a in run.answers]
        if told or run.reseated:
            lines.append(f"     told: {told} reseated {list(run.reseated)}")
        named = f"{last.side.value} {last.component} unit {last.unit} {last.probability:.3f}"
        still = [one.name for one in self.troubled]
        lines.append(f"  = {named}; still wrong: {still or 'nothing'}")


def play(seed: int, tables: Knowledge | None = None) -> Played:
    """One visit played."""
    return Player(seed, tables or knowledge.load()).play()
