"""Invented laptops: what is fitted where, and the checks a run makes at each spot."""

from __future__ import annotations

import random
from typing import Final, NamedTuple

from livecheck.diagnosis import worksheet_machine
from livecheck.records import Controller, Inventory, Machine, Part, Place, Presence

DEAD: Final = ("no-power", "no-picture")
"""Complaints of machines that cannot be booted; they are worked on with the worksheet."""


class Item(NamedTuple):
    """A part, whoever looks at it."""

    key: str
    """Its component id in the runs."""
    kind: str
    identity: str | None
    spare: bool = False
    soldered: bool = False


class Spot(NamedTuple):
    """A place of the layout."""

    place: Place
    takes: str
    """Kind of part it is made for."""


class Laptop(NamedTuple):
    """A layout and what is in it at first."""

    dead: bool
    controllers: tuple[Controller, ...]
    spots: dict[str, Spot]
    fitted: dict[str, Item]


ON_DRIVE: Final = (
    "storage.answers",
    "storage.health",
    "storage.medium-errors",
    "storage.link-errors",
    "storage.link-change",
    "storage.link-history",
    "storage.self-test-log",
    "storage.wear",
    "storage.temperature",
    "storage.command-errors",
    "storage.read-errors",
    "storage.read-stalls",
    "storage.read-slow",
    "kernel.storage-medium",
    "kernel.storage-link",
    "kernel.storage-timeout",
    "kernel.storage-host-bus",
    "kernel.storage-protocol",
)
ON_CARD: Final = ("pcie.errors", "pcie.link-speed", "pcie.link-width", "kernel.pcie")
ON_PART: Final[dict[str, tuple[str, ...]]] = {
    "drive": ON_DRIVE,
    "wireless-card": (
        "wireless.present",
        "wireless.driver",
        "wireless.firmware",
        "wireless.address",
        "kernel.wireless",
    ),
    "memory-module": ("memory.module-words",),
    "battery": ("power.battery-present", "power.battery-wear", "power.charging"),
    "adapter": ("power.adapter",),
    "cooling": ("heat.temperature", "heat.fan", "heat.throttled"),
}
ON_MACHINE: Final = {
    "kernel.machine-check": "machine",
    "kernel.thermal": "machine",
    "memory.words": "machine",
    "memory.early-test": "machine",
    "memory.error-counts": "memory-controller",
    "memory.machine-checks": "machine",
    "memory.same-bits": "memory-controller",
    "processor.results": "processor@socket:1",
    "processor.throttling": "processor@socket:1",
    "processor.machine-checks": "processor@socket:1",
    "kernel.graphics": "display-controller",
}
"""Checks of the whole machine -> component they are read at."""
MISSING: Final = {
    "sata-port": "storage.port-answers",
    "pcie-slot": "pcie.answers",
    "memory-slot": "memory.modules-seen",
}
"""What fails at a place where nothing answers."""
DEEPER: Final = {
    "drive": ("storage.medium", "storage.read-errors", "storage.read-slow"),
    "memory-module": ("memory.module-words",),
    "cooling": ("heat.trip", "heat.temperature"),
    "wireless-card": ("kernel.wireless", "wireless.driver"),
}
"""What the full depth asks a second time, at length."""
ON_BENCH: Final = {
    "no-power": (
        "bench.adapter-output",
        "bench.adapter-holds",
        "bench.adapter-open-voltage",
        "bench.adapter-loaded-voltage",
        "bench.adapter-flex",
        "bench.jack-loose",
        "bench.life",
        "bench.battery-out",
    ),
    "no-picture": (
        "bench.adapter-output",
        "bench.life",
        "bench.own-screen",
        "bench.backlight",
        "bench.external-screen",
        "bench.code-memory",
        "bench.code-board",
        "bench.battery-out",
    ),
}
"""The worksheet's steps that need no cover off; the rest is measured when proposed."""
AGAIN: Final = ("bench.life", "bench.own-screen", "bench.external-screen")
"""What is looked at after every change of a machine that does not start."""


def invent(dice: random.Random, complaint: str) -> Laptop:
    """A laptop that can have this complaint."""
    if complaint in DEAD:
        return of_worksheet()
    return _Maker(dice).laptop()


def inventory(laptop: Laptop, fitted: dict[str, Item], silent: set[str], board: str) -> Inventory:
    """What a run finds: ``silent`` are the places whose part does not answer."""
    places = []
    parts = []
    for own, spot in laptop.spots.items():
        item = fitted.get(own)
        if laptop.dead:
            presence = Presence.UNKNOWN
        elif item is None:
            presence = Presence.EMPTY
        else:
            presence = Presence.NOTHING_ANSWERS if own in silent else Presence.SEEN
        places.append(_with_presence(spot, presence))
        if item is not None and own not in silent:
            parts.append(_part(item, own))
    return Inventory(
        machine=Machine(vendor="Invented", product="Sim 14", board_serial=board, uuid=None),
        controllers=laptop.controllers,
        places=tuple(places),
        parts=tuple(parts),
    )


def _with_presence(spot: Spot, presence: Presence) -> Place:
    return Place(
        id=spot.place.id,
        kind=spot.place.kind,
        name=spot.place.name,
        controller=spot.place.controller,
        presence=presence,
        external=spot.place.external,
        expects=spot.takes or None,
    )


def _part(item: Item, place: str) -> Part:
    own = item.key if item.identity else f"{item.kind}@{place}"
    return Part(
        id=own,
        kind=item.kind,
        name=item.kind,
        place=place,
        identity=item.identity,
        serial=None,
        soldered=item.soldered,
    )


def of_worksheet() -> Laptop:
    """What every laptop has, for one that does not start."""
    told = worksheet_machine.machine()
    by_place = {part.place: part for part in told.parts}
    spots = {}
    for place in told.places:
        part = by_place.get(place.id)
        spots[place.id] = Spot(place, part.kind if part is not None else "")
    fitted = {part.place: Item(part.id, part.kind, None) for part in told.parts}
    return Laptop(dead=True, controllers=told.controllers, spots=spots, fitted=fitted)


class _Maker:
    """Invents one bootable laptop."""

    def __init__(self, dice: random.Random) -> None:
        self.dice = dice
        self.controllers: list[Controller] = []
        self.spots: dict[str, Spot] = {}
        self.fitted: dict[str, Item] = {}

    def laptop(self) -> Laptop:
        for own in ("memory-controller", "power-controller", "display-controller"):
            self._controller(own, own)
        self._controller("pci:0000:00:14.0", "usb-controller")
        self._drives()
        self._slot("pci:0000:00:1c.0", "wireless-card")
        for letter in "AB":
            self._place(f"dimm:{letter}", "memory-slot", "memory-controller", "memory-module")
        if self.dice.random() < 0.6:
            self._fit("dimm:B", "memory-module")
        self._fit("dimm:A", "memory-module")
        self._place("jack:AC", "power-jack", "power-controller", "adapter", fit=True)
        self._place("bay:BAT0", "battery-bay", "power-controller", "battery", fit=True)
        self._place("cooling", "cooling-mount", None, "cooling", fit=True)
        self._place("socket:1", "processor-socket", None, "processor", fit=True)
        self._place("panel:eDP-1", "panel-connector", "display-controller", "panel", fit=True)
        return Laptop(False, tuple(self.controllers), self.spots, self.fitted)

    def _drives(self) -> None:
        style = self.dice.random()
        if style < 0.7:
            self._controller("pci:0000:00:17.0", "sata-controller")
            for port in (1, 2):
                self._place(
                    f"ata:pci:0000:00:17.0:{port}", "sata-port", "pci:0000:00:17.0", "drive"
                )
            self._fit("ata:pci:0000:00:17.0:1", "drive")
            if self.dice.random() < 0.25:
                self._fit("ata:pci:0000:00:17.0:2", "drive")
        if style > 0.5:
            self._slot("pci:0000:00:1d.0", "drive")

    def _slot(self, root: str, kind: str) -> None:
        self._controller(root, "pcie-root-port")
        self._place(f"slot:{root}", "pcie-slot", root, kind, fit=True)

    def _controller(self, own: str, kind: str) -> None:
        self.controllers.append(Controller(id=own, kind=kind, name=kind))

    def _place(
        self, own: str, kind: str, controller: str | None, takes: str, *, fit: bool = False
    ) -> None:
        self.spots[own] = Spot(Place(id=own, kind=kind, name=own, controller=controller), takes)
        if fit:
            self._fit(own, takes)

    def _fit(self, place: str, kind: str) -> None:
        if kind in ("drive", "memory-module", "wireless-card", "battery"):
            serial = f"{self.dice.randrange(16**8):08X}"
            self.fitted[place] = Item(f"{kind}:{serial}", kind, f"serial:{serial}")
        else:
            self.fitted[place] = Item(f"{kind}@{place}", kind, None)
