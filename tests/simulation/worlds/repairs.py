"""Repairs of one world: what is bought, whether it was right, and what comes back."""

from __future__ import annotations

from typing import Final

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Answer, Knowledge
from tests.simulation.bill import COMEBACK_MINUTES
from tests.simulation.laptops import Item
from tests.simulation.worlds import told
from tests.simulation.worlds.fault import Fault
from tests.simulation.worlds.hands import Hands
from tests.simulation.worlds.kind import FIRMWARE, FREE, LEAD, PART, SETTING, SOFTWARE, UNKNOWN

LEAD_ROWS: Final = {"adapter": "power-jack", "panel": "panel-connector"}
LEAD_PRICE: Final = 0.2
"""Of another lead or small board, in bench hours. Assumed."""
_ON_BOARD: Final = ("mainboard", "software", "firmware", "contact")


class Repairs(Hands):
    """Orders, and the referee's knowledge of what is right."""

    def __init__(self, seed: int, tables: Knowledge) -> None:
        super().__init__(seed, tables)
        self.orders: list[str] = []
        self.wrong_boards = self.wrong_orders = self.wrong_reinstalls = 0
        self.cannot: tuple[str, ...] = ()

    def types(self) -> tuple[tuple[str, str], ...]:
        """(Name, seat) of every fault the machine came with."""
        return tuple((fault.kind.name, fault.kind.seat) for fault in self.came_with)

    def unit_of(self, component: str, unit: str) -> str:
        """The engine's unit in the words of ``unit``."""
        if unit in _ON_BOARD:
            return unit
        item = self.find(component)
        if item is not None and item.kind == unit:
            return item.key
        row = self.knowledge.kinds.get(unit)
        if row is not None and not row.price:
            return f"free:{unit}"
        place = self.place_in(component)
        return f"lead:{place}" if place is not None else unit

    def accepts(self, unit: str | None) -> bool:
        """Whether naming this unit is right of the machine as it came."""
        real = [fault for fault in self.faults if fault in self.came_with]
        known = [fault for fault in real if fault.kind.seat != UNKNOWN]
        if unit is None:
            return not known
        return any(self._fits(fault, unit) for fault in known)

    def _fits(self, fault: Fault, unit: str) -> bool:
        seat = fault.kind.seat
        # A soldered part is rightly named as itself and as its board.
        if unit == self.unit(fault) or (seat == PART and unit == fault.where):
            return True
        if seat in FREE:
            return unit == "contact" or unit.startswith("free:") or (
                seat == SETTING and unit in ("software", "firmware")
            )  # fmt: skip
        return seat in (SOFTWARE, FIRMWARE) and unit.startswith("free:")

    def left(self) -> list[Fault]:
        """Faults not yet repaired; with a part that was replaced its fault left, till put back."""
        inside = {item.key for item in self.fitted.values()}
        left = super().left()
        return [f for f in left if f.where not in self.orders or f.where in inside]

    def order(self, unit: str, kind: str) -> None:
        """Buy and fit a unit, and look again. What is soldered is seen to be so, not bought."""
        item = self.items.get(unit)
        if item is not None and item.spare:
            # A spare of the shop's is no customer's part: another one is taken.
            self.swap(self.place_of(item) or self.place_for(item))
            return
        if unit in self.orders or (item is not None and item.soldered):
            self._not_bought(item, unit, kind)
            return
        wrong = unit not in {self.unit(fault) for fault in self.left()}
        self.orders.append(unit)
        row = LEAD_ROWS.get(self._lead_of(unit), kind)
        self.money += LEAD_PRICE if unit.startswith("lead:") and row == kind else self._price(row)
        self.wrong_orders += wrong
        self.wrong_boards += wrong and unit == "mainboard"
        self.spend(row)
        answers: tuple[Answer, ...] = ()
        if item is not None:
            answers = self._fit_bought(item)
        for fault in self.left():
            fault.gone = item is None and self.unit(fault) == unit
        if unit == "mainboard":
            self.board += 1
            for place in sorted(self.fitted):
                self.cure("reseat", {place})
            self.cure("drain")
            answers = (told.NEW_BOARD,)
        elif unit.startswith("lead:"):
            place = unit.removeprefix("lead:")
            self.handle(place)
            answers = (told.repaired(place),)
        # What was bought for the case stands on its bill: it is never left untold.
        self.look(answers=answers)

    def _fit_bought(self, item: Item) -> tuple[Answer, ...]:
        """A new part where the old one was, unless a spare works there in its stead."""
        where = self.place_of(item) or self.place_for(item)
        held = self.fitted.get(where)
        return self.fit_spare(item.kind, where) if held is None or not held.spare else ()

    def _not_bought(self, item: Item | None, unit: str, kind: str) -> None:
        """Nothing is bought twice: with the old part in again, the new one is put back."""
        if item is not None and not item.soldered and self.place_of(item) is not None:
            self.spend(kind)
            self.look(answers=self._fit_bought(item))
            return
        self.spend(kind, trial=False)
        self.cannot = (*self.cannot, f"{Action.REPLACE}: {unit}")

    def _lead_of(self, unit: str) -> str:
        place = unit.removeprefix("lead:")
        return self.laptop.spots[place].takes if place in self.laptop.spots else ""

    def reinstall(self) -> None:
        """Put the installed system right; whether that helps, its owner sees."""
        self.minutes += self.knowledge.kinds["software"].swap_minutes or 60.0
        cured = [fault for fault in self.left() if fault.kind.seat == SOFTWARE]
        self.orders.append("software")
        self.wrong_reinstalls += not cured
        for fault in cured:
            fault.gone = True

    def close(self) -> bool:
        """Hand the machine back; what is still wrong comes back and is paid for."""
        spares = {item.key for item in self.items.values() if item.spare}
        # A fault in a spare leaves with the spare.
        left = [f for f in self.left() if f.where not in spares and f.kind.seat != UNKNOWN]
        for fault in left:
            self.minutes += COMEBACK_MINUTES
            unit = self.unit(fault)
            kind = self.items[unit].kind if unit in self.items else unit
            row = LEAD_ROWS.get(fault.kind.of, kind) if fault.kind.seat == LEAD else kind
            self.spend(row)
            self.money += self._price(row)
        return bool(left)

    def cured_for_nothing(self) -> bool:
        """True: nothing was bought and what was wrong is gone: known by its cure."""
        bought = [unit for unit in self.orders if unit != "software"]
        treated = [f for f in self.came_with if f.gone and f.kind.cured_by]
        return bool(treated) and not bought
