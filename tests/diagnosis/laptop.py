"""An invented laptop and its check table, for tests of the engine.

Chances are round figures of our own, chosen so that results can be worked out by
hand; they are not the program's table.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck import knowledge
from livecheck.diagnosis import Resources
from livecheck.records import (
    Answer,
    Blame,
    Check,
    Complaint,
    Controller,
    Inventory,
    Knowledge,
    Machine,
    Outcome,
    Part,
    Place,
    Presence,
    Reading,
    Run,
)

SATA = "pci:0000:00:17.0"
PORT1 = f"ata:{SATA}:1"
PORT2 = f"ata:{SATA}:2"
ROOT = "pci:0000:00:1c.0"
SLOT = f"slot:{ROOT}"
DRIVE1 = "drive:INV-0001"
DRIVE2 = "drive:INV-0002"
MODULE1 = "memory-module:INV-M001"
CARD = "wireless-card:02:00:00:00:00:01"


def check(
    name: str, *blames: tuple[str, float], false_alarm: float = 0.01, direct: bool = False
) -> Check:
    """A row of the check table."""
    return Check(
        name=name,
        question=name,
        false_alarm=false_alarm,
        false_alarm_source="invented",
        blames=tuple(Blame(who=who, detect=d, source="invented") for who, d in blames),
        direct=direct,
    )


CHECKS = {
    row.name: row
    for row in (
        check("storage.works", ("part", 0.7), ("place", 0.7), ("controller", 0.5)),
        check("storage.medium-errors", ("part", 0.5)),
        check("storage.link-errors", ("place", 0.6), ("controller", 0.6), ("part", 0.15)),
        check("storage.health", ("part", 0.4), false_alarm=0.002),
        check("memory.march", ("part", 0.9), ("place", 0.6), ("controller", 0.3)),
        check("wireless.present", ("part", 0.6), ("place", 0.6), ("software", 0.05)),
        check("pcie.answers", ("part", 0.7), ("place", 0.6), ("controller", 0.3), direct=True),
        msgspec.structs.replace(
            check("power.battery-wear", ("part", 0.9), false_alarm=0.005), finding=True
        ),
        check(
            "heat.trip",
            ("kind:cooling", 0.8),
            ("kind:processor", 0.2),
            ("mainboard", 0.3),
            ("kind:adapter", 0.1),
        ),
    )
}


def tables(*checks: Check) -> Knowledge:
    """The program's kinds of component with this module's checks and the given ones."""
    built_in = knowledge.load()
    return Knowledge(
        checks=CHECKS | {row.name: row for row in checks},
        kinds=built_in.kinds,
        cautions=built_in.cautions,
        bench=built_in.bench,
        model=built_in.model,
        sentences=built_in.sentences,
    )


def drive(own: str, place: str, *, identity: str | None = "") -> Part:
    """A drive; an empty identity is made from its id."""
    serial = own.partition(":")[2]
    return Part(
        id=own,
        kind="drive",
        name=f"drive {serial}",
        place=place,
        identity=f"serial:{serial}" if identity == "" else identity,
    )


NO_LEADS: Final = Resources(
    cannot=tuple(f"exchange lead: drive-lead@{port}" for port in (PORT1, PORT2))
)
"""A bench that has seen that the drives plug straight into the board."""


def _places() -> tuple[Place, ...]:
    return (
        Place(id=PORT1, kind="sata-port", name="SATA port 1", controller=SATA),
        Place(id=PORT2, kind="sata-port", name="SATA port 2", controller=SATA),
        Place(
            id=SLOT,
            kind="pcie-slot",
            name="M.2 slot",
            controller=ROOT,
            expects="wireless-card",
        ),
        Place(id="dimm:A", kind="memory-slot", name="slot A", controller="memory-controller"),
        Place(id="jack:AC", kind="power-jack", name="power jack", controller="power-controller"),
        Place(id="bay:BAT0", kind="battery-bay", name="bay", controller="power-controller"),
        Place(id="cooling", kind="cooling-mount", name="heatsink mount"),
    )


def laptop(
    *drives: Part,
    silent: Sequence[str] = (),
    board_serial: str = "BRD-77120",
    extra: Sequence[Part] = (),
) -> Inventory:
    """The machine with these drives fitted, and the rest of it."""
    fitted = [
        *drives,
        Part(
            id=MODULE1,
            kind="memory-module",
            name="module A",
            place="dimm:A",
            identity="serial:INV-M001",
        ),
        Part(
            id=CARD,
            kind="wireless-card",
            name="wireless card",
            place=SLOT,
            identity="mac:02:00:00:00:00:01",
        ),
        Part(id="adapter@jack:AC", kind="adapter", name="adapter", place="jack:AC"),
        Part(
            id="battery:INV-B1",
            kind="battery",
            name="battery",
            place="bay:BAT0",
            identity="serial:INV-B1",
        ),
        Part(id="cooling@cooling", kind="cooling", name="cooling assembly", place="cooling"),
        *extra,
    ]
    return Inventory(
        machine=Machine(uuid="6f1d2c1e-0000-4000-8000-00000000beef", board_serial=board_serial),
        controllers=(
            Controller(id=SATA, kind="sata-controller", name="SATA controller"),
            Controller(id=ROOT, kind="pcie-root-port", name="root port"),
            Controller(id="memory-controller", kind="memory-controller", name="memory controller"),
            Controller(id="power-controller", kind="power-controller", name="charging circuit"),
        ),
        places=tuple(
            place
            if place.id not in silent
            else Place(
                id=place.id,
                kind=place.kind,
                name=place.name,
                controller=place.controller,
                presence=Presence.NOTHING_ANSWERS,
                expects=place.expects,
            )
            for place in _places()
        ),
        parts=tuple(part for part in fitted if part.place not in silent),
    )


def reading(check_name: str, at: str, ok: bool, says: str = "") -> Reading:
    """A judged reading."""
    outcome = Outcome.PASSED if ok else Outcome.FAILED
    return Reading(check=check_name, at=at, outcome=outcome, says=says)


def run(
    number: int,
    inventory: Inventory,
    *readings: Reading,
    complaint: Complaint = Complaint.PART_MISSING,
    known_good: tuple[str, ...] = (),
    reseated: tuple[str, ...] = (),
    answers: tuple[Answer, ...] = (),
    in_known_good_machine: bool = False,
) -> Run:
    """A run of an invented case."""
    return Run(
        number=number,
        started="2026-01-01T00:00:00Z",
        complaint=complaint,
        inventory=inventory,
        readings=readings,
        known_good=known_good,
        reseated=reseated,
        answers=answers,
        in_known_good_machine=in_known_good_machine,
    )
