"""Hands at the bench: parts come out and go in, contacts are made anew, power goes away."""

from __future__ import annotations

from livecheck.records import Answer, Knowledge
from tests.simulation.laptops import Item
from tests.simulation.worlds import kinds_parts, told
from tests.simulation.worlds.bench import Bench
from tests.simulation.worlds.fault import Fault
from tests.simulation.worlds.kind import PART
from tests.simulation.worlds.machine import NAMED


class Hands(Bench):
    """What is done to the machine, with the slips of its world's technician."""

    def __init__(self, seed: int, tables: Knowledge) -> None:
        super().__init__(seed, tables)
        self.habits = self.world.habits
        self.spares = 0
        self.reminded = False

    def slips(self, chance: float) -> bool:
        """Whether a slip of this chance happens now."""
        return self.dice.random() < chance

    def tell(self, *answers: Answer) -> tuple[Answer, ...]:
        """What of it he does tell."""
        return answers if self.says() else ()

    def says(self) -> bool:
        """Whether he does not forget to tell what he did."""
        return self.reminded or not self.slips(self.habits.unsaid)

    def handle(self, place: str) -> None:
        """Something came out of a place and went in; power was away, or not."""
        self.cure("reseat", {place})
        if self.slips(self.habits.disturbs):
            other = self.dice.choice(sorted(self.fitted) or [place])
            self.cure("reseat", {other})
        kind = self.laptop.spots[place].takes
        row = self.knowledge.kinds.get(kind)
        if row is not None and row.behind and self.slips(self.habits.unplugs):
            self.cure("drain")

    def cure(self, how: str, where: set[str] | None = None) -> None:
        """A treatment, of all there is or of these spots; whether it helps was drawn before."""
        for fault in self.left():
            if how in fault.kind.cured_by and (where is None or fault.where in where):
                fault.gone = fault.reseats

    def is_soldered(self, place: str) -> bool:
        """Whether what is in a place cannot come out."""
        item = self.fitted.get(place)
        return item is not None and item.soldered

    def find(self, key: str) -> Item | None:
        """The part behind a component id of the engine."""
        if key in self.items:
            return self.items[key]
        known = [one for one in self.items if one in key]
        if known:
            return self.items[max(known, key=len)]
        place = self.place_in(key)
        return self.homes.get(place) if place is not None and "@" in key else None

    def place_in(self, text: str) -> str | None:
        """The place that a component id speaks of."""
        inside = [place for place in self.laptop.spots if place in text]
        return max(inside, key=len) if inside else None

    def place_of(self, item: Item) -> str | None:
        """Where a part sits; None: on the table."""
        return next((p for p, one in self.fitted.items() if one.key == item.key), None)

    def home(self, item: Item) -> str | None:
        """The place a part came from."""
        return next((p for p, one in self.homes.items() if one.key == item.key), None)

    def place_for(self, item: Item) -> str:
        """Where a part belongs: where it came from, else where its kind goes."""
        fitting = (p for p, spot in self.laptop.spots.items() if spot.takes == item.kind)
        return self.home(item) or next(fitting)

    def swap(self, place: str) -> None:
        """Put a part the shop vouches for into a place, and look."""
        kind = self.laptop.spots[place].takes
        self.spend(kind)
        answers = self.fit_spare(kind, place)
        self.look(answers=self.tell(*answers))

    def fit_spare(self, kind: str, place: str) -> tuple[Answer, ...]:
        """A part the shop vouches for goes into a place; what has to be told of it."""
        self.spares += 1
        if kind in NAMED and not self.laptop.dead:
            serial = f"SPARE{self.spares:03d}"
            item = Item(f"{kind}:{serial}", kind, f"serial:{serial}", spare=True)
            answers: tuple[Answer, ...] = ()
        else:
            name = f"bench spare {self.spares}"
            item = Item(f"{kind}:{name}", kind, None, spare=True)
            answers = (told.part_is(place, item, item.key),)
        self.items[item.key] = item
        if self.slips(self.habits.bad_spare):
            bad = [k for k in kinds_parts.PARTS if k.seat == PART and k.of == kind]
            if bad:
                self.faults.append(Fault(self._pick(bad), item.key, self.world, self.dice))
        self.fitted[place] = item
        self.handle(place)
        return answers
