"""The technician of one world: does what the program proposes, with his habits, and tells.

``WORDS`` maps the engine's words for steps (livecheck.diagnosis.steps.actions) to what hands do; a
new step of the engine gets a row there by its documented meaning. What he does not know he
says he cannot do, and asks for the next step.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, NamedTuple

import msgspec

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Knowledge
from tests.simulation.bill import TRIAL_MINUTES
from tests.simulation.worlds import told
from tests.simulation.worlds.kind import CONTACT, LEAD, UNKNOWN
from tests.simulation.worlds.repairs import Repairs

POWER_MINUTES: Final = 3.0
"""Assumed."""
SEEN_INSIDE: Final = ("chassis touches the board", "residue of a spill")
CLEANED_IN_VAIN: Final = -1.28
"""Of a standard normal value: one in ten (assumed)."""


class Step(NamedTuple):
    """One step in the engine's words (livecheck.diagnosis.steps.actions explains the fields)."""

    action: str
    target: str
    to: str | None
    parts: tuple[str, ...]
    checks: tuple[str, ...]


class Technician(Repairs):
    """Steps by the names the engine gives them."""

    def __init__(self, seed: int, tables: Knowledge) -> None:
        super().__init__(seed, tables)
        kinds = tables.kinds
        self.cannot = (
            *(f"no spare: {kinds[kind].title}" for kind in self.world.no_spare),
            *(() if self.world.machine_elsewhere else ("no known-good machine",)),
            *(() if self.world.meter else (Action.MEASURE,)),
        )
        self._last = ("", "")

    def perform(
        self, action: str, target: str, to: str | None, parts: Sequence[str], checks: Sequence[str]
    ) -> None:
        """Do one step that is no repair, and look again; or say that it cannot be done."""
        hands = WORDS.get(action)
        step = Step(action, target, to, tuple(parts), tuple(checks))
        # Asked for the same again, he notices what he forgot to tell.
        self.reminded = (action, target) == self._last
        self._last = (action, target)
        if hands is None or not hands(self, step):
            self.cannot = (*self.cannot, f"{action}: {target}")

    def reseat(self, step: Step) -> bool:
        """Take the part of a place out and put it back."""
        place = step.target
        if place not in self.fitted:
            return False
        self.spend(self.laptop.spots[place].takes, reseat=True)
        if not self.slips(self.habits.not_done):
            self.handle(place)
        self.look(reseated=(place,) if self.says() else ())
        return True

    def exchange(self, step: Step) -> bool:
        """A known-good part into the place."""
        place = step.to or step.target
        if place not in self.laptop.spots or self.is_soldered(place):
            return False
        self.swap(place)
        return True

    def move(self, step: Step) -> bool:
        """A part into another place; what is there changes over."""
        item, to = self.find(step.target), step.to
        if item is None or to not in self.laptop.spots or item.soldered:
            return False
        self.spend(item.kind, reseat=True)
        here, there = self.place_of(item), self.fitted.get(to)
        if there is not None and there.soldered:
            return False
        if here is not None:
            del self.fitted[here]
            if there is not None:
                self.fitted[here] = there
            self.handle(here)
        self.fitted[to] = item
        self.handle(to)
        self.look()
        return True

    def take_out(self, step: Step) -> bool:
        """One part, or all that are named, out of the machine."""
        named = step.parts if step.target == "machine" else (step.target,)
        items = [i for key in named if (i := self.find(key)) and not i.soldered]
        if not items:
            return False
        self.minutes += TRIAL_MINUTES
        for item in items:
            self.spend(item.kind, trial=False)
            place = self.place_of(item)
            if place is not None:
                del self.fitted[place]
                self.handle(place)
        self.look()
        return True

    def put_in(self, step: Step) -> bool:
        """Parts back where they came from; two modules may go back crossed."""
        named = step.parts if step.target == "machine" else (step.target,)
        items = [i for key in named if (i := self.find(key))]
        homes = [self.home(item) for item in items]
        if not items or None in homes:
            return False
        modules = [n for n, item in enumerate(items) if item.kind == "memory-module"]
        if len(modules) > 1 and self.slips(self.habits.crosses):
            first, second = modules[:2]
            homes[first], homes[second] = homes[second], homes[first]
        self.minutes += TRIAL_MINUTES
        answers = []
        for item, place in zip(items, homes, strict=True):
            self.spend(item.kind, trial=False)
            self.fitted[place or ""] = item
            self.handle(place or "")
            if not item.identity:
                answers.append(told.own_is_back(place or ""))
        self.look(answers=self.tell(*answers))
        return True

    def elsewhere(self, step: Step) -> bool:
        """The part alone in a known-good machine of the shop."""
        item = self.find(step.target)
        if item is None or item.soldered:
            return False
        self.spend(item.kind)
        self.spend(item.kind, trial=False)
        place = self.place_of(item) or self.place_for(item)
        kept, self.faults = self.faults, [f for f in self.faults if f.where == item.key]
        inside, self.fitted = self.fitted, {place: item}
        readings, silent, finished = self._readings((), "quick")
        own = [r for r in readings if r.at in (place, item.key, f"{item.kind}@{place}")]
        answers = [] if item.identity and not silent else [told.part_is(place, item, item.key)]
        run = self._run(
            self.fitted, silent, own, "quick", answers, finished, in_known_good_machine=True
        )
        self.fitted, self.faults = inside, kept
        self.runs.append(msgspec.structs.replace(run, known_good=()))
        return True

    def look_deeper(self, step: Step) -> bool:
        """The full tests."""
        self.minutes += self.knowledge.bench.actions.full_trial.minutes
        self.look(depth="full")
        return True

    def soak(self, step: Step) -> bool:
        """Trials one after the other, unattended."""
        self.minutes += self.knowledge.bench.actions.soak.minutes
        for _ in range(4):
            self.look()
        return True

    def measure(self, step: Step) -> bool:
        """By meter, what the step names."""
        self.minutes += self.knowledge.bench.actions.measurement.minutes * max(1, len(step.checks))
        self.look(step.checks)
        return True

    def clean(self, step: Step | None = None) -> bool:
        """Dust out, new paste; told as cleaned."""
        place = next((p for p, item in self.fitted.items() if item.kind == "cooling"), None)
        if place is None:
            return False
        self.spend("cooling", reseat=True)
        if not self.slips(self.habits.not_done):
            self.cure("clean", {self.fitted[place].key})
        self.look(answers=self.tell(told.cleaned(place)))
        return True

    def flash(self, step: Step) -> bool:
        """The firmware written again; its settings are new then, too."""
        self.spend("firmware")
        if not self.slips(self.habits.not_done):
            self.cure("flash")
        self.look(answers=self.tell(told.FLASHED))
        return True

    def put_right(self, step: Step) -> bool:
        """A switch, or an entry of the firmware's setup."""
        self.minutes += 2.0 + TRIAL_MINUTES
        if not self.slips(self.habits.not_done):
            self.cure("set")
            self.set_right = True
        self.look(answers=self.tell(told.put_right(step.target)))
        return True

    # --- Steps the plan asks for and the engine may have no word for yet

    def all_power_away(self, step: Step) -> bool:
        """Adapter and battery off, the button held, a minute's wait."""
        self.minutes += POWER_MINUTES + TRIAL_MINUTES
        if not self.slips(self.habits.not_done):
            self.cure("drain")
        self.look(answers=self.tell(told.POWER_AWAY))
        return True

    def look_inside(self, step: Step) -> bool:
        """Cover off: what touches, what was spilled is seen as a rule, and put right."""
        self.spend("drive", reseat=True)
        for fault in self.left():
            if fault.kind.seat == UNKNOWN and fault.kind.name in SEEN_INSIDE:
                fault.gone = fault.reseats
        self.look(answers=self.tell(told.LOOKED_INSIDE))
        return True

    def clean_contacts(self, step: Step) -> bool:
        """The contacts of a place cleaned, its part put in anew: nearly always a cure."""
        if step.target not in self.fitted:
            return False
        self.spend(self.laptop.spots[step.target].takes, reseat=True)
        for fault in self.left():
            if fault.kind.seat == CONTACT and fault.where == step.target:
                fault.gone = self.world.own(f"cleaned/{fault.where}") > CLEANED_IN_VAIN
        self.look(reseated=(step.target,) if self.says() else ())
        return True

    def exchange_lead(self, step: Step) -> bool:
        """Another lead, flex or small board between a place and the mainboard."""
        place = step.to or step.target
        if place not in self.laptop.spots:
            return False
        self.spend(self.laptop.spots[place].takes)
        for fault in self.left():
            fault.gone = fault.kind.seat == LEAD and fault.where == place
        self.handle(place)
        self.look(answers=self.tell(told.repaired(step.target)))
        return True

    def say_what_is_in(self, step: Step) -> bool:
        """Asked, he looks and says which part is in a place: of the run there is."""
        if step.target not in self.fitted:
            return False
        self.minutes += 1.0
        last = self.runs[-1]
        told_now = (*last.answers, self.slot_told(step.target))
        self.runs[-1] = msgspec.structs.replace(last, answers=told_now)
        return True

    def enable(self, step: Step) -> bool:
        """What a test lacks is fetched and the machine started again."""
        self.minutes += TRIAL_MINUTES
        self.odd = self.odd._replace(no_firmware=False)
        self.look()
        return True


WORDS: Final[dict[str, Callable[[Technician, Step], bool]]] = {
    Action.SETTING: Technician.put_right,
    Action.ENABLE: Technician.enable,
    Action.RESEAT: Technician.reseat,
    Action.SWAP: Technician.exchange,
    Action.MOVE: Technician.move,
    Action.REMOVE: Technician.take_out,
    Action.MINIMUM: Technician.take_out,
    Action.HALF_BACK: Technician.put_in,
    Action.PUT_BACK: Technician.put_in,
    Action.KNOWN_GOOD_MACHINE: Technician.elsewhere,
    Action.DEEPER: Technician.look_deeper,
    Action.SOAK: Technician.soak,
    Action.MEASURE: Technician.measure,
    Action.CLEAN: Technician.clean,
    Action.REFLASH: Technician.flash,
    Action.POWER_AWAY: Technician.all_power_away,
    Action.INSPECT: Technician.look_inside,
    Action.CLEAN_CONTACTS: Technician.clean_contacts,
    Action.EXCHANGE_LEAD: Technician.exchange_lead,
    Action.ASK: Technician.say_what_is_in,
}
