"""What livecheck saves and passes on: frozen, typed records.

Data goes one way: host -> inventory -> readings -> run -> diagnosis -> report
and console. Every record is immutable, so any stage may be replayed from a
saved file. ``None`` always means "not known"; words are chosen when rendering.

Identifiers. A component (part, place, controller) has an ``id`` that is unique
in its run. Ids of places and controllers follow the wiring and are the same in
every run of the same board; ids of parts follow the part where it carries an
identity (serial, WWN, MAC), else the place it was seen in.

Units are SI, sizes bytes, times seconds or ISO 8601 UTC, temperatures °C; the
unit stands in the field name wherever it is not plain.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final, TypeVar

import msgspec

SCHEMA: Final = 1

Value = str | int | float | bool | None
"""What an attribute or a reading may hold."""


class Outcome(StrEnum):
    """What came of one check at one component."""

    PASSED = "passed"
    FAILED = "failed"
    NOT_JUDGED = "not judged"


class Presence(StrEnum):
    """What the hardware itself says of a place."""

    SEEN = "presence seen"
    """A part is there and answers."""
    NOTHING_ANSWERS = "nothing answers"
    """The place senses a part, and nothing enumerates behind it."""
    EMPTY = "empty"
    UNKNOWN = "unknown"
    """This kind of place cannot tell, or was not asked."""


class Side(StrEnum):
    """Where a fault lies, as the one who orders the spare needs to know it."""

    DEVICE = "device"
    CONTROLLER = "controller"
    SOFTWARE = "software"
    NO_FAULT = "no-fault"
    UNDETERMINED = "undetermined"


class Complaint(StrEnum):
    """What the customer says is wrong; it chooses the probes and the priors."""

    NO_POWER = "no-power"
    NO_PICTURE = "no-picture"
    PART_MISSING = "part-missing"
    NOT_CHARGING = "not-charging"
    SWITCHES_OFF = "switches-off"
    UNSTABLE = "unstable"
    SLOW = "slow"
    INTAKE = "intake"


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=False):
    """Base of every record."""


class Machine(Record, frozen=True, kw_only=True):
    """Who this machine is, by its firmware's tables. Every string may be a lie."""

    vendor: str | None = None
    product: str | None = None
    version: str | None = None
    serial: str | None = None
    uuid: str | None = None
    board_vendor: str | None = None
    board_product: str | None = None
    board_version: str | None = None
    board_serial: str | None = None
    firmware_vendor: str | None = None
    firmware_version: str | None = None
    firmware_date: str | None = None
    chassis: str | None = None
    processor: str | None = None
    installed_memory_bytes: int | None = None


class Controller(Record, frozen=True, kw_only=True):
    """What stays on the board and serves places: a host adapter, root port, hub."""

    id: str
    kind: str
    """A kind of shared/components.toml."""
    name: str
    parent: str | None = None
    """Id of the controller this one hangs on; None: on the mainboard itself."""
    attributes: dict[str, Value] = {}


class Place(Record, frozen=True, kw_only=True):
    """Where a part goes: bay, port, slot, socket, jack. It stays when the part goes."""

    id: str
    kind: str
    name: str
    controller: str | None = None
    """Id of the controller that serves it; None: the mainboard itself."""
    presence: Presence = Presence.UNKNOWN
    external: bool = False
    """True: reachable from outside (USB port); what is plugged there is not the machine's."""
    attributes: dict[str, Value] = {}


class Part(Record, frozen=True, kw_only=True):
    """Something fitted that can be swapped."""

    id: str
    kind: str
    name: str
    place: str
    """Id of the place it was seen in."""
    identity: str | None = None
    """What makes a swap visible: ``serial:…``, ``wwn:…``, ``mac:…``; None: it carries none."""
    vendor: str | None = None
    model: str | None = None
    serial: str | None = None
    firmware: str | None = None
    soldered: bool = False
    """True: fixed to the board, so a fault in it is the board's."""
    attributes: dict[str, Value] = {}


class Device(Record, frozen=True, kw_only=True):
    """One node of the kernel's device model, and the component it belongs to."""

    subsystem: str
    """``pci``, ``block``, ``usb``, ``net``, ``power_supply``, ``hwmon``, ``thermal``, …"""
    name: str
    """The kernel's name: ``0000:00:1f.2``, ``sda``, ``1-1.4``, ``wlan0``."""
    path: str
    """Its path in sysfs."""
    component: str | None = None
    """Id of the part, place or controller it belongs to; None: the machine as a whole."""
    driver: str | None = None
    description: str | None = None
    attributes: dict[str, Value] = {}


class Inventory(Record, frozen=True, kw_only=True):
    """The tree mainboard -> controller -> place -> part of one configuration."""

    machine: Machine = Machine()
    controllers: tuple[Controller, ...] = ()
    places: tuple[Place, ...] = ()
    parts: tuple[Part, ...] = ()
    devices: tuple[Device, ...] = ()
    gaps: tuple[str, ...] = ()
    """Sentences: what could not be enumerated, and why."""


class Reading(Record, frozen=True, kw_only=True):
    """One value of one check at one component. It never says who is to blame."""

    check: str
    """A name in shared/checks.toml."""
    at: str
    """Id of the component it was taken at; ``machine`` for the whole machine."""
    outcome: Outcome
    value: Value = None
    unit: str | None = None
    source: str = ""
    """Where the value came from: a sysfs attribute, a command, a log line."""
    says: str = ""
    """One sentence a technician would say of it."""
    why_not: str | None = None
    """For a reading that is not judged: why."""
    details: tuple[str, ...] = ()
    """Raw lines or figures behind it."""
    conditions: tuple[str, ...] = ()
    """``hot``, ``cold``, ``under load``, ``on battery`` …, when they matter."""
    device: str | None = None
    """Kernel name of the device it was read from, where one was."""


class KernelEvent(Record, frozen=True, kw_only=True):
    """One kernel message that bears on a component."""

    seconds: float
    """Since the kernel started."""
    layer: str
    """``medium``, ``link``, ``host bus``, ``timeout``, ``protocol``, ``machine check``,
    ``power``, ``thermal``, ``firmware``, ``graphics``, ``other``."""
    device: str | None
    """What the message names: ``ata1.00``, ``nvme0``, ``0000:01:00.0``, ``usb 1-4``."""
    says: str
    raw: str
    subsystem: str = ""
    component: str | None = None
    """Id of the component the device belongs to, once the inventory is known."""
    serious: bool = True
    """False: worth keeping, not by itself a sign of a fault."""


class NotTested(Record, frozen=True, kw_only=True):
    """A check that was not made, and why. It is a result and is shown as one."""

    what: str
    why: str
    at: str | None = None


class ProbeRun(Record, frozen=True, kw_only=True):
    """How one probe went."""

    probe: str
    seconds: float
    ended: str
    """``done``, ``did not answer``, ``died``, ``stopped``."""
    says: str = ""


class Answer(Record, frozen=True, kw_only=True):
    """Something the technician told livecheck that no sensor can."""

    about: str
    """Component id, a place, or a topic such as ``changed`` or ``spare``."""
    says: str
    """For a part that carries no identity: its new name (``adapter: bench spare``)."""


class Run(Record, frozen=True, kw_only=True):
    """Everything read in one configuration of parts."""

    number: int
    started: str
    """ISO 8601 UTC by the machine's clock, which is shown and never trusted."""
    complaint: Complaint = Complaint.INTAKE
    depth: str = "quick"
    inventory: Inventory = Inventory()
    readings: tuple[Reading, ...] = ()
    events: tuple[KernelEvent, ...] = ()
    not_tested: tuple[NotTested, ...] = ()
    probes: tuple[ProbeRun, ...] = ()
    answers: tuple[Answer, ...] = ()
    known_good: tuple[str, ...] = ()
    """Identities of parts the shop vouches for that are fitted in this run."""
    reseated: tuple[str, ...] = ()
    """Ids of places whose part was taken out and put back before this run."""
    elsewhere: bool = False
    """True: the suspect part was tested in a known-good machine of the shop."""
    kernel: str | None = None
    program: str | None = None
    """Version of livecheck that made the run."""
    as_root: bool = False
    seconds: float | None = None
    finished: bool = True
    schema: int = SCHEMA


class Case(Record, frozen=True, kw_only=True):
    """All runs of one complaint of one machine; the runs stand in their own files."""

    id: str
    ticket: str | None
    complaint: Complaint
    machine: Machine
    opened: str
    parts: tuple[str, ...] = ()
    """Identities of the parts fitted when the case was opened: who the machine is when
    its firmware's identities are none."""
    spares: tuple[str, ...] = ()
    """Identities of known-good parts used in this case."""
    cannot: tuple[str, ...] = ()
    """Actions this bench ruled out, such as ``no spare: memory module``."""
    closed: str | None = None
    outcome: str | None = None
    """What the repair proved, in the technician's words."""
    schema: int = SCHEMA


class Swap(Record, frozen=True, kw_only=True):
    """What changed at one place between two runs."""

    from_run: int
    to_run: int
    change: str
    """``swapped``, ``moved``, ``removed``, ``added``, ``reseated`` or ``board replaced``."""
    place: str
    before: str | None
    after: str | None
    part_kind: str | None = None


class Candidate(Record, frozen=True, kw_only=True):
    """One component that could explain what was seen."""

    component: str
    kind: str
    unit: str
    """The replaceable unit to order if this one is at fault."""
    side: Side
    probability: float
    name: str = ""


class Evidence(Record, frozen=True, kw_only=True):
    """One reading that speaks for or against a candidate."""

    run: int
    check: str
    at: str
    outcome: Outcome
    says: str
    weight: float = 0.0
    """Natural log of the likelihood ratio for the verdict's component; > 0 speaks for it."""


class PredictedOutcome(Record, frozen=True, kw_only=True):
    """What one result of the next step would mean."""

    result: str
    probability: float
    means: str


class NextStep(Record, frozen=True, kw_only=True):
    """The action with the best expected progress per minute and money."""

    action: str
    target: str
    minutes: float
    why: str
    outcomes: tuple[PredictedOutcome, ...] = ()
    cautions: tuple[str, ...] = ()
    """Names in shared/cautions.toml that belong beside this step."""
    money: float | None = None
    to: str | None = None
    """Place the target goes to or sits in, where the action has one."""
    parts: tuple[str, ...] = ()
    """Further parts the step touches (see livecheck.diagnosis.actions)."""
    checks: tuple[str, ...] = ()
    """Names of the checks whose outcome decides."""


class Location(Record, frozen=True, kw_only=True):
    """The fault location: which component best explains all runs of a case."""

    case: str
    runs: int
    side: Side
    component: str | None
    unit: str | None
    probability: float
    sides: dict[str, float]
    candidates: tuple[Candidate, ...]
    next_step: NextStep | None
    evidence: tuple[Evidence, ...]
    swaps: tuple[Swap, ...]
    sentence: str = ""
    """The verdict as a technician would say it."""
    explanation: tuple[str, ...] = ()
    """Further sentences, each traceable to readings."""
    pattern: str | None = None
    """Name of the swap pattern seen, when one fits."""
    alternatives: tuple[NextStep, ...] = ()
    """The next steps that came second and third."""
    priors: str = "built-in"
    """Which table of priors was used."""
    schema: int = SCHEMA


class Blame(Record, frozen=True, kw_only=True):
    """One row of a check's blame rule: who could make it fail, and how surely it shows."""

    who: str
    """A role on the path of the component the reading was taken at: ``part``, ``place``,
    ``controller``, ``upstream`` (every controller above that one), ``mainboard``; or
    ``software``; or ``kind:K``: every component of kind K in the machine; or ``path:K``:
    the component of kind K on that path only."""
    detect: float
    """Chance that a fault in it makes this check fail in one run, 0 < detect < 1."""
    source: str


class Check(Record, frozen=True, kw_only=True):
    """One row of shared/checks.toml."""

    name: str
    question: str
    """What the check asks, as a question a technician would ask."""
    false_alarm: float
    """Chance that it fails in one run with nothing at fault, 0 < false_alarm < 1."""
    false_alarm_source: str
    blames: tuple[Blame, ...]
    unit: str | None = None
    limits: dict[str, float] = {}
    """Figures the probe judges by, named with their unit."""
    limits_source: str = ""
    direct: bool = False
    """True: a failure is a direct observation of the controller side (no swap needed)."""
    complaints: tuple[str, ...] = ()
    """Complaints under which a measurement may be proposed; empty: under all."""


class Kind(Record, frozen=True, kw_only=True):
    """One row of shared/components.toml: a kind of component."""

    kind: str
    title: str
    """As a technician would say it, without an article."""
    role: str
    """``part``, ``place``, ``controller``, ``mainboard``, ``software``, ``contact``; or
    ``share``, ``cover``, ``bench``: figures of the bench, not a component."""
    weight: float
    """Prior weight of one such component being at fault; the engine normalises."""
    weight_source: str
    unit: str
    """Kind of the replaceable unit to order: itself for a part, ``mainboard`` for most else."""
    swap_minutes: float | None = None
    reseat_minutes: float | None = None
    minutes_source: str = ""
    price: float | None = None
    """Typical price of the unit in units of a bench hour's price; None: not sold alone."""
    price_source: str = ""
    behind: tuple[str, ...] = ()
    """Covers to open first, outermost first: ``bottom cover``, ``keyboard``, ``mainboard out``."""
    complaints: dict[str, float] = {}
    """Complaint -> factor on the weight; 1 where it is not named."""
    risk: float = 0.0
    """Chance that taking it out or treating it harms the machine."""
    risk_source: str = ""


class Caution(Record, frozen=True, kw_only=True):
    """One row of shared/cautions.toml: what to say beside a step that can hurt."""

    name: str
    text: str
    source: str


class Knowledge(Record, frozen=True, kw_only=True):
    """The tables everything is judged by."""

    checks: dict[str, Check]
    kinds: dict[str, Kind]
    cautions: dict[str, Caution]
    origin: str = "built-in"
    """``built-in``, or the shop file that overrides a part of them."""


class DamagedRecord(Exception):
    """A saved file that cannot be read as what it should be."""


def encode(record: Record) -> bytes:
    """A record as indented UTF-8 JSON with a final newline."""
    return msgspec.json.format(msgspec.json.encode(record), indent=1) + b"\n"


_R = TypeVar("_R", bound=Record)


def decode(data: bytes, kind: type[_R]) -> _R:
    """Read a record strictly.

    Raises DamagedRecord when the bytes are not JSON, lack a field, hold a value
    of another type, or were written by a newer schema.
    """
    try:
        record = msgspec.json.decode(data, type=kind)
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise DamagedRecord(f"not a whole {kind.__name__.lower()} record: {error}") from error
    schema = getattr(record, "schema", SCHEMA)
    if schema != SCHEMA:
        raise DamagedRecord(
            f"written by schema {schema}; this program reads schema {SCHEMA} "
            "(use the livecheck version that wrote it)"
        )
    return record
