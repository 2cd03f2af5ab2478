"""An invented laptop with one fault, and what a run of it reads, as plain JSON values."""

from __future__ import annotations

import random
from typing import Any, Final, NamedTuple

Json = dict[str, Any]

SATA, ROOT, MEMORY = "pci:0000:00:17.0", "pci:0000:00:1c.0", "memory-controller"
PORTS: Final = (f"ata:{SATA}:1", f"ata:{SATA}:2")
SLOT: Final = f"slot:{ROOT}"
DIMMS: Final = ("dimm:A", "dimm:B")
TAKES: Final = {
    **dict.fromkeys(PORTS, "drive"),
    **dict.fromkeys(DIMMS, "memory-module"),
    SLOT: "wireless-card",
}
"""Place -> kind of the part it takes."""
PLACES: Final = (
    *((port, "sata-port", SATA) for port in PORTS),
    (SLOT, "pcie-slot", ROOT),
    *((dimm, "memory-slot", MEMORY) for dimm in DIMMS),
)
ANSWERS: Final = {"sata-port": "storage.port-answers", "pcie-slot": "pcie.answers"}
LINK: Final = ("storage.link-errors", "storage.link-change", "kernel.storage-link")
MEDIUM: Final = ("storage.read-errors", "storage.medium-errors", "kernel.storage-medium")
RADIO: Final = ("wireless.driver", "kernel.wireless")
WORDS: Final = ("memory.module-words",)
READ: Final = {"drive": (*LINK, *MEDIUM), "wireless-card": RADIO, "memory-module": WORDS}


class Fault(NamedTuple):
    """What is wrong, where (a part, a place or nowhere), and what it shows."""

    name: str
    complaint: str
    seat: str
    """``part``, ``place`` or ``contact``; empty: nothing is wrong."""
    of: str
    """Kind of the part, or of the part whose place it is."""
    shows: tuple[str, ...]
    silent: bool = False


FAULTS: Final = (
    Fault("worn drive", "slow", "part", "drive", MEDIUM),
    Fault("dead drive", "part-missing", "part", "drive", (), silent=True),
    Fault("cracked port", "unstable", "place", "drive", LINK),
    Fault("drive contact", "unstable", "contact", "drive", LINK),
    Fault("bad module", "unstable", "part", "memory-module", ("memory.words", *WORDS)),
    Fault("dead card", "part-missing", "part", "wireless-card", (), silent=True),
    Fault("failing card", "part-missing", "part", "wireless-card", RADIO),
    Fault("dead slot", "part-missing", "place", "wireless-card", (), silent=True),
    Fault("nothing", "intake", "", "", ()),
)


class Bench:
    """The machine as it stands."""

    def __init__(self, seed: int) -> None:
        self.dice = random.Random(seed)
        self.fault = self.dice.choice(FAULTS)
        self.parts: dict[str, str] = {}
        """Place -> serial of what is in it."""
        for place in (PORTS[0], *DIMMS, SLOT):
            self.parts[place] = f"OWN{self.dice.randrange(16**6):06X}"
        self.home = dict(self.parts)
        self.spares: set[str] = set()
        self.board = 1
        self.gone = not self.fault.seat
        takes = (place for place in self.parts if TAKES[place] == self.fault.of)
        self.where = next(takes, "")
        """Place the fault is at, or its part came with."""

    @property
    def acts(self) -> bool:
        """Whether the fault is in the machine now."""
        if self.gone:
            return False
        inside = self.parts.get(self.where) is not None
        return self.here() is not None if self.fault.seat == "part" else inside

    def here(self) -> str | None:
        """Place at which the fault is felt now."""
        if self.fault.seat != "part":
            return self.where
        own = self.home[self.where]
        return next((place for place, serial in self.parts.items() if serial == own), None)

    def touch(self, place: str) -> None:
        """A part came out and went in: its contact is made anew."""
        self.gone = self.gone or (self.fault.seat == "contact" and place == self.where)

    def spare(self, place: str) -> str:
        """A known-good part goes into a place; its serial."""
        serial = f"SPARE{len(self.spares) + 1:03d}"
        self.spares.add(serial)
        self.parts[place] = serial
        self.touch(place)
        return serial

    def unit(self) -> str:
        """Kind of the unit that cures it; empty: none has to be bought."""
        return {"part": self.fault.of, "place": "mainboard"}.get(self.fault.seat, "")

    # --- What a run reads

    def run(self, number: int, **note: object) -> Json:
        """One look, as the record of it."""
        felt = self.here() if self.acts else None
        silent = felt if felt is not None and self.fault.silent else None
        readings = [self._read("memory.words", "machine", felt)]
        for place, kind, _ in PLACES:
            if place in self.parts and kind in ANSWERS:
                readings.append(_reading(ANSWERS[kind], place, place == silent))
            if place in self.parts and place != silent:
                own = f"{TAKES[place]}:{self.parts[place]}"
                for check in READ[TAKES[place]]:
                    readings.append(self._read(check, own, felt if felt == place else None))
        return {
            "schema": 2,
            "number": number,
            "started": f"2026-01-01T{9 + number % 12:02d}:00:00Z",
            "complaint": self.fault.complaint,
            "inventory": self._inventory(silent),
            "readings": readings,
            "known_good": [f"serial:{s}" for s in self.parts.values() if s in self.spares],
            **note,
        }

    def _read(self, check: str, at: str, felt: str | None) -> Json:
        return _reading(check, at, felt is not None and check in self.fault.shows)

    def _inventory(self, silent: str | None) -> Json:
        return {
            "machine": {"vendor": "Invented", "product": "Fair 13", "board_serial": self._board()},
            "controllers": [
                {"id": SATA, "kind": "sata-controller", "name": "SATA controller"},
                {"id": ROOT, "kind": "pcie-root-port", "name": "root port"},
                {"id": MEMORY, "kind": "memory-controller", "name": "memory controller"},
            ],
            "places": [
                {
                    "id": place,
                    "kind": kind,
                    "name": place,
                    "controller": controller,
                    "expects": TAKES[place],
                    "presence": self._presence(place, silent),
                }
                for place, kind, controller in PLACES
            ],
            "parts": [
                {
                    "id": f"{TAKES[place]}:{serial}",
                    "kind": TAKES[place],
                    "name": TAKES[place],
                    "place": place,
                    "identity": f"serial:{serial}",
                }
                for place, serial in self.parts.items()
                if place != silent
            ],
        }

    def _board(self) -> str:
        return f"FAIR-{self.board}"

    def _presence(self, place: str, silent: str | None) -> str:
        if place == silent:
            return "nothing answers"
        return "presence seen" if place in self.parts else "empty"


def _reading(check: str, at: str, failed: bool) -> Json:
    return {"check": check, "at": at, "outcome": "failed" if failed else "passed"}
