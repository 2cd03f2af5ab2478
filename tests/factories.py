"""Invented records for tests: one laptop of a maker that does not exist, and its runs.

``port_and_battery()`` is the showcase: a drive fails, a known-good one in its
place fails too, the first one passes in another port; and the battery is worn.
Locations here are written by hand, so that what shows them can be tested
without the engine that makes them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal, NamedTuple

import msgspec

from livecheck import knowledge as tables
from livecheck.records import (
    Blame,
    Candidate,
    Case,
    Caution,
    Check,
    Complaint,
    Controller,
    Evidence,
    HeldOut,
    Inventory,
    Kind,
    Knowledge,
    Learned,
    LearnedTables,
    Location,
    Machine,
    NextStep,
    NotTested,
    Outcome,
    Part,
    Place,
    PredictedOutcome,
    Presence,
    ProbeRun,
    Reading,
    Run,
    Side,
    Swap,
)

SATA: Final = "pci:0000:00:17.0"
ROOT_PORT: Final = "pci:0000:00:1c.0"
USB: Final = "pci:0000:00:14.0"
PORT_1: Final = "ata:0000:00:17.0:1"
PORT_2: Final = "ata:0000:00:17.0:2"
SLOT: Final = "slot:0000:00:1c.0"
BAY: Final = "bay:BAT0"
JACK: Final = "jack:AC"
CUSTOMERS: Final = "drive:serial:TN-48-0017"
SPARE: Final = "drive:serial:OV-25-0933"
BATTERY: Final = "battery:serial:PB-5211"

MACHINE: Final = Machine(
    vendor="Quillon",
    product="Fieldbook 14",
    version="r2",
    serial="QF14-03172",
    uuid="7b0c5f4e-6f0e-4c55-9d3b-0f4d1c2a9e10",
    board_vendor="Quillon",
    board_product="QB-14M",
    board_version="1.3",
    board_serial="QB14M-88120",
    firmware_vendor="Quillon",
    firmware_version="F14.09",
    firmware_date="2023-05-11",
    chassis="notebook",
    processor="Invented Core 4 at 2.4 GHz",
    installed_memory_bytes=8 * 2**30,
)


class Bench(NamedTuple):
    """The arguments of ``report.render``."""

    case: Case
    runs: tuple[Run, ...]
    location: Location
    knowledge: Knowledge
    damaged: tuple[str, ...] = ()


def _cautions() -> dict[str, Caution]:
    return {
        "static": Caution(
            name="static",
            text="Static discharge kills boards: switch off, pull the adapter, disconnect "
            "the battery, and wear a grounded wrist strap before touching a connector.",
            source="common practice, no source",
        ),
        "data": Caution(
            name="data",
            text="The customer's data comes before the repair: copy it to another drive "
            "before any further test loads a failing one.",
            source="common practice, no source",
        ),
    }


def _kind(name: str, title: str, role: str, unit: str | None = None) -> tuple[str, Kind]:
    row = Kind(
        kind=name, title=title, role=role, weight=1.0, weight_source="invented",
        unit=unit or name,
    )  # fmt: skip
    return name, row


def knowledge() -> Knowledge:
    """A few rows of each table, enough for the invented laptop."""

    def check(name: str, asks: str, *who: str) -> tuple[str, Check]:
        blames = tuple(Blame(who=w, detect=0.5, source="invented") for w in who)
        row = Check(
            name=name, question=asks, false_alarm=0.01, false_alarm_source="invented",
            blames=blames,
        )  # fmt: skip
        return name, row

    return Knowledge(
        bench=tables.load().bench,
        model=tables.load().model,
        kinds=dict(
            (
                _kind("drive", "drive", "part"),
                _kind("battery", "battery", "part"),
                _kind("adapter", "adapter", "part"),
                _kind("wireless-card", "wireless card", "part"),
                _kind("memory-module", "memory module", "part"),
                _kind("sata-port", "SATA port", "place", "mainboard"),
                _kind("pcie-slot", "PCIe slot", "place", "mainboard"),
                _kind("usb-port", "USB port", "place", "mainboard"),
                _kind("battery-bay", "battery bay", "place", "mainboard"),
                _kind("power-jack", "power jack", "place", "mainboard"),
                _kind("sata-controller", "SATA controller", "controller", "mainboard"),
                _kind("pcie-root-port", "PCIe root port", "controller", "mainboard"),
                _kind("usb-controller", "USB controller", "controller", "mainboard"),
                _kind("mainboard", "mainboard", "mainboard"),
                _kind("contact", "contact between part and place", "contact"),
                _kind("software", "installed system", "software"),
            )
        ),
        checks=dict(
            (
                check("storage.health", "Does the drive itself say that it is failing?", "part"),
                check(
                    "storage.link-errors",
                    "Was data damaged on the way between drive and controller in this run?",
                    "place", "controller", "part",
                ),
                check(
                    "storage.temperature", "Is the drive within its temperature limits?", "part"
                ),
                check(
                    "kernel.storage-link",
                    "Did the kernel log a broken link to the drive?",
                    "place", "controller", "part",
                ),
                check("power.battery-wear", "How much does a full battery still hold?", "part"),
                check("pcie.link-speed", "Does the link run as fast as both ends allow?",
                      "part", "place", "controller"),
                check("wireless.firmware", "Is the wireless firmware present?", "software"),
            )
        ),
        cautions=_cautions(),
        sentences=tables.sentences(),
    )  # fmt: skip


def drive(part: str, place: str) -> Part:
    """The customer's drive or the shop's spare, in a port."""
    serial = part.rpartition(":")[2]
    maker, model = ("Tarnel", "TS480") if part == CUSTOMERS else ("Ovik", "X250")
    return Part(
        id=part, kind="drive", name=f"{maker} {model}", place=place, identity=f"serial:{serial}",
        vendor=maker, model=model, serial=serial, firmware="1.04",
    )  # fmt: skip


def inventory(drives: Sequence[Part]) -> Inventory:
    """The laptop with these drives in its two ports."""
    filled = {part.place for part in drives}

    def port(place: str, number: int) -> Place:
        seen = Presence.SEEN if place in filled else Presence.EMPTY
        return Place(
            id=place, kind="sata-port", name=f"SATA port {number}", controller=SATA,
            presence=seen, expects="drive",
        )  # fmt: skip

    usb_ports = tuple(
        Place(id=f"usb:1-{n}", kind="usb-port", name=f"USB port 1-{n}", controller=USB,
              presence=Presence.EMPTY, external=True)
        for n in range(1, 6)
    )  # fmt: skip
    return Inventory(
        machine=MACHINE,
        controllers=(
            Controller(id=SATA, kind="sata-controller", name="AHCI controller 00:17.0"),
            Controller(id=ROOT_PORT, kind="pcie-root-port", name="PCIe root port 00:1c.0"),
            Controller(id=USB, kind="usb-controller", name="xHCI controller 00:14.0"),
        ),
        places=(
            port(PORT_1, 1),
            port(PORT_2, 2),
            Place(id=SLOT, kind="pcie-slot", name="M.2 slot E", controller=ROOT_PORT,
                  presence=Presence.SEEN),
            Place(id=BAY, kind="battery-bay", name="battery bay", presence=Presence.SEEN),
            Place(id=JACK, kind="power-jack", name="power jack", presence=Presence.SEEN),
            *usb_ports,
        ),
        parts=(
            *drives,
            Part(id="wireless-card:mac:02:00:5e:10:22:31", kind="wireless-card",
                 name="Lumenet W6", place=SLOT, identity="mac:02:00:5e:10:22:31",
                 vendor="Lumenet", model="W6"),
            Part(id=BATTERY, kind="battery", name="Penrock PB-52", place=BAY,
                 identity="serial:PB-5211", vendor="Penrock", model="PB-52", serial="PB-5211"),
            Part(id="adapter@jack:AC", kind="adapter", name="adapter", place=JACK),
        ),
    )  # fmt: skip


def drive_readings(part: str, port: int, errors: int) -> tuple[Reading, ...]:
    """What a run reads at a drive; errors on the link make two checks fail."""
    failed = Outcome.FAILED if errors else Outcome.PASSED
    link = (
        f"{errors} transfers were damaged on the way between drive and controller."
        if errors
        else "No transfer was damaged in 2 GiB read."
    )
    log = (
        f"The kernel reset the link of SATA port {port} and slowed it to 1.5 Gb/s."
        if errors
        else "The kernel logged nothing about this link."
    )
    raw = (
        f"ata{port}.00: exception Emask 0x10 SAct 0x0 SErr 0x400100 action 0x6 frozen",
        f"ata{port}: SError: {{ UnrecovData Handshk }}",
    )
    return (
        Reading(check="storage.link-errors", at=part, outcome=failed, value=errors,
                unit="errors", source="change of SATA PHY event counters", says=link,
                device="sda", conditions=("under load",)),
        Reading(check="kernel.storage-link", at=part, outcome=failed, source="kernel messages",
                says=log, device=f"ata{port}", details=raw if errors else ()),
        Reading(check="storage.health", at=part, outcome=Outcome.PASSED, value="PASSED",
                source="smartctl", says="The drive says it is well.", device="sda"),
        Reading(check="storage.temperature", at=part, outcome=Outcome.PASSED, value=37,
                unit="°C", source="smartctl", says="37 °C, within its limits.", device="sda"),
    )  # fmt: skip


def other_readings() -> tuple[Reading, ...]:
    """What every run reads beside the drives: a worn battery, a sound slot."""
    return (
        Reading(check="power.battery-wear", at=BATTERY, outcome=Outcome.FAILED, value=41.3,
                unit="%", source="/sys/class/power_supply/BAT0/energy_full",
                says="A full charge holds 41 % of what the battery was made for.",
                device="BAT0"),
        Reading(check="pcie.link-speed", at=SLOT, outcome=Outcome.PASSED, value=5.0,
                unit="GT/s", source="configuration space",
                says="The link runs at 5 GT/s, as fast as both ends allow.",
                device="0000:02:00.0"),
        Reading(check="wireless.firmware", at="wireless-card:mac:02:00:5e:10:22:31",
                outcome=Outcome.NOT_JUDGED, why_not="needs root", source="kernel messages"),
    )  # fmt: skip


def run(number: int, drives: Sequence[Part], readings: Sequence[Reading]) -> Run:
    """One run of the laptop."""
    return Run(
        number=number,
        started=f"2026-03-02T{8 + number:02}:14:09Z",
        complaint=Complaint.PART_MISSING,
        inventory=inventory(drives),
        readings=(*readings, *other_readings()),
        not_tested=(
            NotTested(what="Camera picture", why="no probe looks at pictures"),
            NotTested(what="Memory march test", why="not asked for in this run"),
        ),
        probes=(ProbeRun(probe="storage", seconds=2.41, ended="done"),),
        known_good=("serial:OV-25-0933",) if SPARE in {d.id for d in drives} else (),
        kernel="6.12.0-test",
        program="0.1.0",
        as_root=True,
        seconds=34.2,
    )


def case(**changes: object) -> Case:
    """The case all variants share."""
    made = Case(
        id="2026-03-02-fieldbook-14", ticket="T-2041", complaint=Complaint.PART_MISSING,
        machine=MACHINE, opened="2026-03-02T09:10:00Z", spares=("serial:OV-25-0933",),
    )  # fmt: skip
    return msgspec.structs.replace(made, **changes)


_BOARD: Final = Candidate(
    component=PORT_1, kind="sata-port", unit="mainboard", side=Side.CONTROLLER,
    probability=0.93, name="SATA port 1",
)  # fmt: skip
_WORN: Final = Candidate(
    component=BATTERY, kind="battery", unit="battery", side=Side.DEVICE, probability=0.996,
    name="Penrock PB-52",
)  # fmt: skip


def location(**changes: object) -> Location:
    """The showcase's verdict after three runs."""
    failed, passed = Outcome.FAILED, Outcome.PASSED
    made = Location(
        case="2026-03-02-fieldbook-14",
        runs=3,
        side=Side.CONTROLLER,
        component=PORT_1,
        unit="mainboard",
        probability=0.93,
        sides={"device": 0.505, "controller": 0.485, "software": 0.007, "no-fault": 0.003},
        candidates=(
            _WORN,
            _BOARD,
            Candidate(component=SATA, kind="sata-controller", unit="mainboard",
                      side=Side.CONTROLLER, probability=0.041, name="AHCI controller 00:17.0"),
            Candidate(component=CUSTOMERS, kind="drive", unit="drive", side=Side.DEVICE,
                      probability=0.018, name="Tarnel TS480"),
        ),
        next_step=None,
        evidence=(
            Evidence(run=1, check="storage.link-errors", at=CUSTOMERS, outcome=failed, weight=1.4,
                     says="38 transfers were damaged on the way between drive and controller."),
            Evidence(run=2, check="storage.link-errors", at=SPARE, outcome=failed, weight=5.6,
                     says="61 transfers were damaged on the way between drive and controller."),
            Evidence(run=3, check="storage.link-errors", at=CUSTOMERS, outcome=passed, weight=2.2,
                     says="No transfer was damaged in 2 GiB read."),
            Evidence(run=3, check="storage.health", at=CUSTOMERS, outcome=passed, weight=0.3,
                     says="The drive says it is well."),
        ),
        swaps=(
            Swap(from_run=1, to_run=2, change="swapped", place=PORT_1, before=CUSTOMERS,
                 after=SPARE, part_kind="drive"),
            Swap(from_run=2, to_run=3, change="removed", place=PORT_1, before=SPARE, after=None,
                 part_kind="drive"),
            Swap(from_run=2, to_run=3, change="added", place=PORT_2, before=None,
                 after=CUSTOMERS, part_kind="drive"),
        ),
        sentence="The fault stays with the port: two different drives failed at SATA port 1, "
        "and the first of them passed at SATA port 2.",
        explanation=("The battery is worn as well; that is a fault of its own.",),
        pattern="stays with the place",
    )  # fmt: skip
    return msgspec.structs.replace(made, **changes)


def learned_tables(**changes: object) -> LearnedTables:
    """Invented figures of a shop that learned from two cases."""
    rows: list[tuple[Literal["weight", "shows", "alarm"], str, float]] = [
        ("weight", "battery", 1.5),
        ("shows", "storage.link-errors part", 0.5),
        ("alarm", "*", 2.0),
    ]
    plain = LearnedTables(
        made="2026-03-04T00:00:00Z",
        cases=("2026-03-02-T-1", "2026-03-02-T-2"),
        learned=tuple(
            Learned(table=table, name=name, expected=4.0, found=6.0, cases=9.5, factor=factor)
            for table, name, factor in rows
        ),
        held_out=HeldOut(cases=2, right_before=1, right_after=2, mended=1, spoilt=0,
                         log_before=-1.25, log_after=-1.0, standard_error=0.1),
    )  # fmt: skip
    return msgspec.structs.replace(plain, **changes)


def three_runs() -> tuple[Run, Run, Run]:
    """Customer's drive in port 1; the spare in port 1; customer's drive in port 2."""
    return (
        run(1, [drive(CUSTOMERS, PORT_1)], drive_readings(CUSTOMERS, 1, 38)),
        run(2, [drive(SPARE, PORT_1)], drive_readings(SPARE, 1, 61)),
        run(3, [drive(CUSTOMERS, PORT_2)], drive_readings(CUSTOMERS, 2, 0)),
    )


def port_and_battery() -> Bench:
    """The showcase: a controller fault and a device fault in one case."""
    return Bench(case(), three_runs(), location(), knowledge())


def undetermined() -> Bench:
    """One run; drive and port are still both possible, and a swap would tell."""
    step = NextStep(
        action="swap with known-good",
        target=CUSTOMERS,
        minutes=5,
        why="It is the quickest step that tells the drive from its port.",
        outcomes=(
            PredictedOutcome(result="The errors go", probability=0.55,
                             means="The drive is at fault: order a drive."),
            PredictedOutcome(result="The errors stay", probability=0.45,
                             means="The port or the mainboard is at fault."),
        ),
        cautions=("static", "data"),
    )  # fmt: skip
    other = NextStep(action="reseat", target=PORT_1, minutes=3, cautions=("static",),
                     why="A dirty contact looks the same.")  # fmt: skip
    found = location(
        runs=1, side=Side.UNDETERMINED, component=None, unit=None, probability=0.52,
        sides={"device": 0.52, "controller": 0.31, "software": 0.03, "no-fault": 0.04,
               "undetermined": 0.1},
        candidates=(
            Candidate(component=CUSTOMERS, kind="drive", unit="drive", side=Side.DEVICE,
                      probability=0.52, name="Tarnel TS480"),
            msgspec.structs.replace(_BOARD, probability=0.31),
            Candidate(component=f"contact:{PORT_1}:{CUSTOMERS}", kind="contact", unit="contact",
                      side=Side.UNDETERMINED, probability=0.1,
                      name="contact between Tarnel TS480 and SATA port 1"),
        ),
        next_step=step, alternatives=(other,), swaps=(), pattern=None, explanation=(),
        evidence=location().evidence[:1],
        sentence="Drive or SATA port: one run cannot tell which. Swap the drive next.",
    )  # fmt: skip
    return Bench(case(), three_runs()[:1], found, knowledge())


def no_fault() -> Bench:
    """One run in which everything tested passed."""
    sound = tuple(r for r in run(1, [], ()).readings if r.outcome is not Outcome.FAILED)
    made = run(1, [drive(CUSTOMERS, PORT_1)], drive_readings(CUSTOMERS, 1, 0))
    made = msgspec.structs.replace(
        made,
        readings=(*drive_readings(CUSTOMERS, 1, 0), *sound),
    )
    found = location(
        runs=1, side=Side.NO_FAULT, component=None, unit=None, probability=0.94,
        sides={"device": 0.03, "controller": 0.02, "software": 0.01, "no-fault": 0.94},
        candidates=(), swaps=(), evidence=(), pattern=None, explanation=(), sentence="",
    )  # fmt: skip
    return Bench(case(complaint=Complaint.INTAKE), (made,), found, knowledge())


def software() -> Bench:
    """The hardware is sound; the wireless firmware is missing from the installed system."""
    bench = no_fault()
    missing = Reading(
        check="wireless.firmware", at="wireless-card:mac:02:00:5e:10:22:31",
        outcome=Outcome.FAILED, source="kernel messages",
        says="The driver asked for a firmware file that is not installed.",
    )  # fmt: skip
    made = msgspec.structs.replace(bench.runs[0], readings=(*bench.runs[0].readings, missing))
    found = msgspec.structs.replace(
        bench.location, side=Side.SOFTWARE, component="software", unit="software",
        sides={"device": 0.03, "controller": 0.01, "software": 0.95, "no-fault": 0.02},
        probability=0.95,
        candidates=(Candidate(component="software", kind="software", unit="software",
                              side=Side.SOFTWARE, probability=0.95),),
    )  # fmt: skip
    return bench._replace(runs=(made,), location=found)


def empty_run() -> Bench:
    """A run that enumerated nothing and read nothing."""
    made = Run(number=1, started="1970-01-01T00:00:07Z", finished=False)
    return _blank()._replace(runs=(made,))


def no_runs() -> Bench:
    """A case that was opened and never run."""
    return _blank()


def _blank() -> Bench:
    found = Location(
        case="2026-03-02-fieldbook-14", runs=0, side=Side.UNDETERMINED, component=None, unit=None,
        probability=0.0, sides={}, candidates=(), next_step=None, evidence=(), swaps=(),
    )  # fmt: skip
    blank = case(machine=Machine(), ticket=None)
    return Bench(blank, (), found, knowledge())


def no_readings() -> Bench:
    """The devices are enumerated, and no probe read anything."""
    made = msgspec.structs.replace(run(1, [drive(CUSTOMERS, PORT_1)], ()), readings=())
    return _blank()._replace(case=case(), runs=(made,))


def damaged() -> Bench:
    """The showcase with one run that cannot be read any more."""
    whole = port_and_battery()
    return whole._replace(
        runs=(whole.runs[0], whole.runs[2]),
        damaged=("runs/0002/run.json: not a whole run record: input data was truncated",),
    )
