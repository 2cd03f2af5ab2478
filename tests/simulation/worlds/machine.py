"""Invented laptops of many makes: what is socketed, soldered or at the end of a lead."""

from __future__ import annotations

import random
from typing import Final

from livecheck.records import Controller, Place
from tests.simulation.laptops import DEAD, Item, Laptop, Spot, of_worksheet

SATA: Final = "pci:0000:00:17.0"
USB: Final = "pci:0000:00:14.0"
NAMED: Final = ("drive", "memory-module", "wireless-card", "battery")
"""Kinds that carry a serial."""


def invent(dice: random.Random, complaint: str) -> Laptop:
    """A laptop that can have this complaint."""
    return of_worksheet() if complaint in DEAD else _Maker(dice).laptop()


class _Maker:
    """Invents one bootable laptop. Shares of makes are assumed."""

    def __init__(self, dice: random.Random) -> None:
        self.dice = dice
        self.controllers: list[Controller] = []
        self.spots: dict[str, Spot] = {}
        self.fitted: dict[str, Item] = {}

    def laptop(self) -> Laptop:
        for own in ("memory-controller", "power-controller", "display-controller"):
            self._controller(own, own)
        self._controller(USB, "usb-controller")
        self._drives()
        self._slot("pci:0000:00:1c.0", "wireless-card", soldered=self.dice.random() < 0.2)
        self._memory()
        self._place("jack:AC", "power-jack", "power-controller", "adapter", fit=True)
        self._place("bay:BAT0", "battery-bay", "power-controller", "battery", fit=True)
        self._place("cooling", "cooling-mount", None, "cooling", fit=True)
        socketed = self.dice.random() < 0.15
        self._place("socket:1", "processor-socket", None, "processor")
        self._fit("socket:1", "processor", soldered=not socketed)
        self._place("panel:eDP-1", "panel-connector", "display-controller", "panel", fit=True)
        for port in range(self.dice.choice((1, 2, 3))):
            self._place(f"usb:1-{port + 1}", "usb-port", USB, "usb-device", external=True)
        if self.dice.random() < 0.5:
            self._place("connector:coin-cell", "internal-connector", None, "coin-cell", fit=True)
        return Laptop(False, tuple(self.controllers), self.spots, self.fitted)

    def _drives(self) -> None:
        style = self.dice.random()
        if style < 0.08:
            self._slot("pci:0000:00:1d.0", "drive", soldered=True)
            return
        if style < 0.55:
            self._controller(SATA, "sata-controller")
            for port in (1, 2):
                self._place(f"ata:{SATA}:{port}", "sata-port", SATA, "drive")
            self._fit(f"ata:{SATA}:1", "drive")
            if self.dice.random() < 0.25:
                self._fit(f"ata:{SATA}:2", "drive")
        if style > 0.4:
            self._slot("pci:0000:00:1d.0", "drive")

    def _memory(self) -> None:
        soldered = self.dice.random() < 0.25
        for letter in "AB":
            self._place(f"dimm:{letter}", "memory-slot", "memory-controller", "memory-module")
        self._fit("dimm:A", "memory-module", soldered=soldered)
        if self.dice.random() < 0.6:
            self._fit("dimm:B", "memory-module")

    def _slot(self, root: str, kind: str, *, soldered: bool = False) -> None:
        self._controller(root, "pcie-root-port")
        self._place(f"slot:{root}", "pcie-slot", root, kind)
        self._fit(f"slot:{root}", kind, soldered=soldered)

    def _controller(self, own: str, kind: str) -> None:
        self.controllers.append(Controller(id=own, kind=kind, name=kind))

    def _place(
        self,
        own: str,
        kind: str,
        controller: str | None,
        takes: str,
        *,
        fit: bool = False,
        external: bool = False,
    ) -> None:
        place = Place(id=own, kind=kind, name=own, controller=controller, external=external)
        self.spots[own] = Spot(place, takes)
        if fit:
            self._fit(own, takes)

    def _fit(self, place: str, kind: str, *, soldered: bool = False) -> None:
        if kind in NAMED:
            serial = f"{self.dice.randrange(16**8):08X}"
            item = Item(f"{kind}:{serial}", kind, f"serial:{serial}", soldered=soldered)
        else:
            item = Item(f"{kind}@{place}", kind, None, soldered=soldered)
        self.fitted[place] = item
