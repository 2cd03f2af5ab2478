"""Cases told run by run: a whole laptop, everything a run reads of it, and what failed.

Used where an experienced technician's answer is the reference. A run reads all that the
program would: what is not named as failed has passed. The tables are the program's own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Final

import msgspec
import pytest

from livecheck import knowledge
from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import (
    Answer,
    Complaint,
    Controller,
    Inventory,
    Knowledge,
    Location,
    Machine,
    NextStep,
    Outcome,
    Part,
    Place,
    Presence,
    Reading,
    Run,
    Value,
)
from tests.simulation.worlds import checks

SATA, ROOT, USB = "pci:0000:00:17.0", "pci:0000:00:1c.0", "pci:0000:00:14.0"
SATA_2 = "pci:0000:02:00.0"
PORT_1, PORT_2, PORT_3 = f"ata:{SATA}:1", f"ata:{SATA}:2", f"ata:{SATA_2}:1"
SLOT, DIMM_A, DIMM_B = f"slot:{ROOT}", "dimm:A", "dimm:B"
JACK, BAY, USB_PORT = "jack:AC", "bay:BAT0", "usb:1-1"
COOLING, PROCESSOR, ADAPTER = "cooling@cooling", "processor@socket:1", "adapter@jack:AC"
BOARD, DISPLAY = "mainboard", "display-controller"
_EXPECTS: Final = {SLOT: "wireless-card"}
_SILENT: Final = {"sata-port": "storage.port-answers", "pcie-slot": "pcie.answers"}


@cache
def tables() -> Knowledge:
    """The program's own."""
    return knowledge.load()


def part(kind: str, serial: str, place: str, *, soldered: bool = False) -> Part:
    """A part that carries a serial."""
    return Part(
        id=f"{kind}:{serial}",
        kind=kind,
        name=f"{kind} {serial}",
        place=place,
        identity=f"serial:{serial}",
        soldered=soldered,
    )


def plain(kind: str, place: str, *, soldered: bool = False) -> Part:
    """A part without a serial."""
    return Part(id=f"{kind}@{place}", kind=kind, name=kind, place=place, soldered=soldered)


DRIVE: Final = part("drive", "INV-D1", PORT_1)
MODULE_A: Final = part("memory-module", "INV-MA", DIMM_A)
MODULE_B: Final = part("memory-module", "INV-MB", DIMM_B)
CARD: Final = part("wireless-card", "INV-C1", SLOT)
BATTERY: Final = part("battery", "INV-B1", BAY)


def spare(kind: str, place: str, number: int = 1) -> Part:
    """A part the shop vouches for."""
    return part(kind, f"SPARE{number}", place)


class Story:
    """One laptop with one complaint; ``fit`` changes what is in it, ``run`` looks."""

    def __init__(
        self, complaint: Complaint, *, board: str = "BRD-1", second_controller: bool = False
    ) -> None:
        self.complaint = complaint
        self.second_controller = second_controller
        self.board = board
        self.runs: list[Run] = []
        self.fitted: dict[str, Part] = {}
        for one in (DRIVE, MODULE_A, MODULE_B, CARD, BATTERY):
            self.fit(one)
        for kind, place in (("adapter", JACK), ("cooling", "cooling"), ("panel", "panel:eDP-1")):
            self.fit(plain(kind, place))
        self.fit(plain("processor", "socket:1", soldered=True))

    def fit(self, one: Part, place: str | None = None) -> None:
        """A part into a place; what was there is out."""
        where = place or one.place
        self.fitted = {p: held for p, held in self.fitted.items() if held.id != one.id}
        self.fitted[where] = msgspec.structs.replace(one, place=where)

    def empty(self, place: str) -> None:
        """Take out what is in a place."""
        del self.fitted[place]

    def run(
        self,
        *failed: str,
        silent: Sequence[str] = (),
        told: Sequence[Answer] = (),
        reseated: Sequence[str] = (),
        in_known_good_machine: bool = False,
        depth: str = "quick",
        values: Mapping[str, Value] | None = None,
    ) -> None:
        """A look at the machine as it stands. ``failed``: ``"check component"`` each."""
        found = self._inventory(silent)
        inside = {p.identity for p in self.fitted.values() if p.identity}
        bad = {(check, at) for check, _, at in (one.partition(" ") for one in failed)}
        usual = list(self._usual(found, silent))
        if in_known_good_machine:
            own = {p.id for p in self.fitted.values()} | set(self.fitted)
            usual = [(check, at) for check, at in usual if at in own]
        readings = [
            Reading(
                check=check,
                at=at,
                outcome=Outcome.FAILED if (check, at) in bad else Outcome.PASSED,
                value=(values or {}).get(check),
            )
            for check, at in dict.fromkeys([*usual, *sorted(bad)])
        ]
        self.runs.append(
            Run(
                number=len(self.runs) + 1,
                started=f"2026-01-01T{9 + len(self.runs):02d}:00:00Z",
                complaint=self.complaint,
                depth=depth,
                inventory=found,
                readings=tuple(readings),
                answers=tuple(told),
                known_good=tuple(sorted(one for one in inside if "SPARE" in one)),
                reseated=tuple(reseated),
                in_known_good_machine=in_known_good_machine,
            )
        )

    def locate(self, *cannot: str) -> Location:
        """What the program says of it."""
        return locate("story", self.runs, tables(), Resources(cannot=cannot))

    def _inventory(self, silent: Sequence[str]) -> Inventory:
        controllers = [(SATA, "sata-controller"), (ROOT, "pcie-root-port"), (USB, "usb-controller")]
        controllers += [(SATA_2, "sata-controller")] if self.second_controller else []
        own = ("memory-controller", "power-controller", DISPLAY)
        return Inventory(
            machine=Machine(
                vendor="Invented", product="Story 14", board_serial=self.board, uuid=None
            ),
            controllers=tuple(
                Controller(id=name, kind=kind, name=kind)
                for name, kind in (*controllers, *((name, name) for name in own))
            ),
            places=tuple(self._places(silent)),
            parts=tuple(p for place, p in self.fitted.items() if place not in silent),
        )

    def _places(self, silent: Sequence[str]) -> Iterator[Place]:
        more = [(PORT_3, "sata-port", SATA_2)] if self.second_controller else []
        for place, kind, controller in (
            *more,
            (PORT_1, "sata-port", SATA),
            (PORT_2, "sata-port", SATA),
            (SLOT, "pcie-slot", ROOT),
            (DIMM_A, "memory-slot", "memory-controller"),
            (DIMM_B, "memory-slot", "memory-controller"),
            (JACK, "power-jack", "power-controller"),
            (BAY, "battery-bay", "power-controller"),
            ("cooling", "cooling-mount", None),
            ("socket:1", "processor-socket", None),
            ("panel:eDP-1", "panel-connector", DISPLAY),
            (USB_PORT, "usb-port", USB),
        ):
            seen = Presence.SEEN if place in self.fitted else Presence.EMPTY
            yield Place(
                id=place,
                kind=kind,
                name=place,
                controller=controller,
                presence=Presence.NOTHING_ANSWERS if place in silent else seen,
                external=kind == "usb-port",
                expects=_EXPECTS.get(place),
            )

    def _usual(self, found: Inventory, silent: Sequence[str]) -> Iterator[tuple[str, str]]:
        """(Check, component) of everything a run reads."""
        for one in found.parts:
            names = checks.PASSIVE.get(one.kind, ())
            names += checks.ON_SLOT if one.place == SLOT else ()
            names += checks.READ if one.kind == "drive" else ()
            yield from ((name, one.id) for name in names)
        for place in found.places:
            if place.kind in _SILENT and place.presence is not Presence.EMPTY:
                yield _SILENT[place.kind], place.id
        yield from checks.PASSIVE_MACHINE.items()
        yield from (("memory.words", "machine"), ("processor.results", PROCESSOR))
        yield from ((name, PROCESSOR) for name in ("heat.temperature", "heat.throttled"))
        yield from (("heat.fan", COOLING), ("kernel.thermal", "machine"))


# --- What is asked of an answer


def not_yet(reason: str) -> pytest.MarkDecorator:
    """The engine does not answer so yet: what mends it takes the mark away."""
    return pytest.mark.xfail(strict=True, raises=AssertionError, reason=reason)


def share(found: Location, *units: str) -> float:
    """What the program gives components, by id or by the unit that is ordered."""
    return sum(c.probability for c in found.candidates if {c.component, c.unit} & set(units))


def steps(found: Location) -> tuple[NextStep, ...]:
    """The next step and those that came second and third."""
    return tuple(s for s in (found.next_step, *found.alternatives) if s is not None)


def done(found: Location) -> set[tuple[str, str]]:
    """(Action, target) of the steps proposed."""
    return {(step.action, step.target) for step in steps(found)}


def buys(found: Location) -> str | None:
    """Kind of the unit that is to be bought now; None: nothing is."""
    step = found.next_step
    if step is None:
        # No step left: the unit named is out already, and one is ordered for it.
        return found.unit if found.unit not in ("software", "firmware", "contact") else None
    if step.action != Action.REPLACE:
        return None
    return next(c.unit for c in found.candidates if c.component == step.target)


def says(found: Location, words: str) -> bool:
    """Whether the sentence, the explanation or a step speaks of something (a pattern)."""
    told = (found.sentence, *found.explanation, *(step.why for step in steps(found)))
    acts = (f"{step.action} {step.target}" for step in steps(found))
    return any(re.search(words, text, re.IGNORECASE) for text in (*told, *acts))
