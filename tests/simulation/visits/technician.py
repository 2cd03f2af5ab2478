"""Hands: what each step does to the machine. Someone who is human does it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import NextStep
from tests.simulation.visits.frame import at_place
from tests.simulation.visits.laptop import (
    ATA,
    BAY,
    CAMERA,
    COOLING,
    DIMMS,
    JACK,
    NVME,
    PANEL,
    TAKES,
    WLAN,
    Board,
    Joint,
    Laptop,
    Piece,
)  # fmt: skip

SPARES: Final = {
    "drive": 0.9, "memory-module": 0.95, "wireless-card": 0.8, "adapter": 0.95, "battery": 0.35,
    "cooling": 0.1, "panel": 0.25, "keyboard": 0.2, "touchpad": 0.1, "camera": 0.1,
    "coin-cell": 0.95, "speaker": 0.1, "microphone": 0.1,
}  # fmt: skip
"""Chance that a bench has one that fits: from memory."""
BAD_SPARE: Final = 0.015
ALL_MODULES: Final = "dimm:1"
SKIPS: Final = 0.06
"""Chance that a step is not done, and said not to be possible: assumed."""
FORGETS: Final = 0.04
"""Chance that what was done is not noted: assumed."""


@dataclass
class Hands:
    """A technician at a machine, with what lies beside it."""

    laptop: Laptop
    has: frozenset[str] = frozenset()
    """Kinds of spare at hand."""
    reseated: list[str] = field(default_factory=list)
    """Places that a look inside set right."""

    def out(self, place: str) -> None:
        """What is in a place goes on the shelf."""
        piece = self.laptop.pieces.pop(place, None)
        if piece is not None:
            self.laptop.shelf[piece.serial] = piece

    def put(self, place: str, piece: Piece) -> None:
        """Another part into a place; its contact is made anew."""
        self.out(place)
        self.laptop.pieces[place] = piece
        self.laptop.shelf.pop(piece.serial, None)
        self.seat(place)

    def seat(self, place: str) -> None:
        """All that is pressed together again where a part goes in."""
        machine, dice = self.laptop, self.laptop.dice
        machine.joints[place].reseat(dice)
        if place == WLAN and dice.random() < 0.9:
            machine.antenna.open = False
        if place == ATA[0]:
            machine.drive_lead.open = False
        if place == PANEL:
            machine.panel_lead.open = False
        if place == COOLING:
            machine.mount_gap = 0.0 if dice.random() < 0.9 else machine.mount_gap
            cooler = machine.fitted(COOLING)
            if cooler is not None:
                cooler.paste = 0.35

    def new(self, kind: str, place: str, spare: bool) -> Piece:
        """One that fits: the shop's own, or a new one."""
        own = next((p for p in self._all() if p.kind == kind), None)
        self.laptop.spares += 1
        # A number is told by the new one where the old one told its own.
        piece = Piece(kind, f"{'SP' if spare else 'NW'}{self.laptop.spares:02d}{kind[:2].upper()}",
                      own.named if own is not None else True, spare=spare)  # fmt: skip
        if kind == "adapter":
            piece.watts = 90.0
        bad = self.laptop.dice.random() < BAD_SPARE
        piece.dead = bad and spare
        return piece

    def _all(self) -> Sequence[Piece]:
        return (*self.laptop.pieces.values(), *self.laptop.shelf.values())

    def bad_module(self) -> str:
        """All own modules in again, and the place of the one that is found bad, each by itself."""
        homes = [place for place in DIMMS if place in self.laptop.home]
        held = {piece.serial: piece for piece in self._all()}
        for place in homes:
            piece = held.get(self.laptop.home[place])
            if piece is not None and self.laptop.pieces.get(place) is not piece:
                self.put(place, piece)
        bad = [p for p in homes if p in self.laptop.pieces and self.laptop.pieces[p].dead]
        return bad[0] if bad else homes[0]

    def new_board(self) -> None:
        """Another mainboard: every contact on it is made anew."""
        machine = self.laptop
        machine.board = Board()
        machine.number += 1
        machine.usb_worn.clear()
        machine.soft.firmware_bad, machine.soft.charge_stop = "", False
        machine.soft.hidden, machine.wet = "", False
        for place in machine.joints:
            self.seat(place)

    # --- Steps

    def do(self, step: NextStep) -> bool:
        """The step; False: this bench cannot."""
        return DOES[Action(step.action)](self, step) if step.action in DOES else False

    def reseat(self, step: NextStep) -> bool:
        place = at_place(self.laptop, step.target)
        if place is None:
            return False
        # On a machine that shows nothing all modules are put in anew.
        for one in DIMMS if step.target.endswith(ALL_MODULES) else (place,):
            self.seat(one)
        return True

    def clean_contacts(self, step: NextStep) -> bool:
        place = at_place(self.laptop, step.target)
        if place is None:
            return False
        self.seat(place)
        self.laptop.joints[place].clean()
        return True

    def swap(self, step: NextStep) -> bool:
        place = at_place(self.laptop, step.to or step.target)
        if place not in TAKES or TAKES[place] not in self.has:
            return False
        if (step.to or step.target).endswith(ALL_MODULES):
            self.out(DIMMS[1])
        self.put(place, self.new(TAKES[place], place, spare=True))
        return True

    def back(self, step: NextStep) -> bool:
        place = at_place(self.laptop, step.to or step.target)
        serial = self.laptop.home.get(place or "")
        if place is None or serial is None:
            return False
        held = next((p for p in self._all() if p.serial == serial), None)
        if held is None:
            return False
        where = next((p for p, one in self.laptop.pieces.items() if one is held), None)
        if where is not None and where != place:
            self.out(where)
        self.put(place, held)
        return True

    def remove(self, step: NextStep) -> bool:
        place = at_place(self.laptop, step.target)
        if place is None or place not in self.laptop.pieces:
            return False
        self.out(place)
        return True

    def move(self, step: NextStep) -> bool:
        here, there = at_place(self.laptop, step.target), step.to
        pieces = self.laptop.pieces
        if here is None or here not in pieces or there not in TAKES:
            return False
        one, other = pieces.pop(here), pieces.pop(there, None)
        pieces[there] = one
        if other is not None:
            pieces[here] = other
        self.seat(there)
        self.seat(here)
        return True

    def minimum(self, step: NextStep) -> bool:
        places = {at_place(self.laptop, one) for one in (step.target, *step.parts)}
        # The one module, the screen and the power stay.
        spared = {DIMMS[0], JACK, COOLING, PANEL, None}
        for place in places - spared:
            self.out(place or "")
        return True

    def half_back(self, step: NextStep) -> bool:
        for one in (step.target, *step.parts):
            place = at_place(self.laptop, one)
            serial = self.laptop.home.get(place or "")
            if place is not None and serial in self.laptop.shelf:
                self.put(place, self.laptop.shelf[serial])
        return True

    def clean(self, step: NextStep) -> bool:
        cooler = self.laptop.fitted(COOLING)
        if cooler is not None:
            cooler.dust = 0.03
        self.seat(COOLING)
        self.laptop.blocked = False
        return True

    def lead(self, step: NextStep) -> bool:
        place = at_place(self.laptop, step.to or step.target)
        if place == ATA[0]:
            self.laptop.drive_lead = Joint()
        elif place == PANEL:
            self.laptop.panel_lead = Joint()
        elif place == WLAN:
            self.laptop.antenna = Joint()
        else:
            return False
        self.seat(place or "")
        return True

    def inspect(self, step: NextStep) -> bool:
        """What hangs loose is seen most times, and put right at once; a spill is cleaned."""
        machine, dice = self.laptop, self.laptop.dice
        machine.wet = machine.wet and dice.random() < 0.3
        for place in (*ATA, NVME, WLAN, *DIMMS, BAY, CAMERA, PANEL):
            lead = {WLAN: machine.antenna, PANEL: machine.panel_lead}.get(place)
            hangs = machine.joints[place].open or (lead is not None and lead.open)
            if hangs and dice.random() < 0.75:
                self.seat(place)
                self.reseated.append(place)
        if machine.mount_gap and dice.random() < 0.4:
            self.seat(COOLING)
            self.reseated.append(COOLING)
        return True

    def power_away(self, step: NextStep) -> bool:
        if self.laptop.dice.random() < 0.95:
            self.laptop.board.hung = ""
        return True

    def flash(self, step: NextStep) -> bool:
        soft, dice = self.laptop.soft, self.laptop.dice
        if step.target != "firmware":
            place = at_place(self.laptop, step.target)
            piece = self.laptop.fitted(place or "")
            if piece is not None and piece.pending < 8 and dice.random() < 0.6:
                piece.stalls = 0.0
            return piece is not None
        if soft.firmware_bad and dice.random() < 0.15:
            return False
        soft.firmware_bad = ""
        return True

    def setting(self, step: NextStep) -> bool:
        soft = self.laptop.soft
        soft.radio_off, soft.charge_stop, soft.hidden, soft.dim = "", False, "", False
        return True

    def system(self, step: NextStep) -> bool:
        self.laptop.soft.trouble = ""
        self.laptop.soft.radio_off = self.laptop.soft.radio_off.replace("soft", "")
        return True

    def wait(self, step: NextStep) -> bool:
        return True


DOES: Final[dict[Action, Callable[[Hands, NextStep], bool]]] = {
    Action.RESEAT: Hands.reseat,
    Action.CLEAN_CONTACTS: Hands.clean_contacts,
    Action.SWAP: Hands.swap,
    Action.PUT_BACK: Hands.back,
    Action.REMOVE: Hands.remove,
    Action.MOVE: Hands.move,
    Action.MINIMUM: Hands.minimum,
    Action.HALF_BACK: Hands.half_back,
    Action.CLEAN: Hands.clean,
    Action.EXCHANGE_LEAD: Hands.lead,
    Action.INSPECT: Hands.inspect,
    Action.POWER_AWAY: Hands.power_away,
    Action.REFLASH: Hands.flash,
    Action.SETTING: Hands.setting,
    Action.REPAIR_SYSTEM: Hands.system,
    Action.DEEPER: Hands.wait,
    Action.SOAK: Hands.wait,
}
