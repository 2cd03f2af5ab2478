"""What was read: readings, kernel events, runs and the cases they belong to."""

from __future__ import annotations

from livecheck.records.answers import Answer
from livecheck.records.base import SCHEMA, Complaint, Outcome, Record, Value
from livecheck.records.figures import Figures
from livecheck.records.machine import Inventory, Machine


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
    """Raw lines behind it."""
    figures: Figures | None = None
    """What charts draw; None: there is nothing to draw, or the record is of schema 1."""
    conditions: tuple[str, ...] = ()
    """``hot``, ``cold``, ``under load``, ``on battery`` …, when they matter."""
    device: str | None = None
    """Kernel name of the device it was read from, where one was."""
    spread: float | None = None
    """Standard uncertainty of the value, in its unit, where it was worked out."""
    covered: float | None = None
    """Share (0 … 1) of what the check asks about that was looked at; None: all of it."""
    of_run: int | None = None
    """The earlier run of the same case that it speaks of, found only now; None: its own."""


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


class Line(Record, frozen=True, kw_only=True):
    """How one meter went."""

    name: str
    sort: str
    """``temperature``, ``power``, ``frequency``, ``fan``, ``battery-volts``, …"""
    unit: str
    values: tuple[float | None, ...]
    """One a time of the course; None: not read."""
    limit: float | None = None
    """Where the machine steps in, in the same unit."""


class Course(Record, frozen=True, kw_only=True):
    """How the meters went while a run went on, thinned for drawing."""

    seconds: tuple[float, ...]
    """Since the first sample."""
    lines: tuple[Line, ...]
    steps: tuple[tuple[float, str], ...] = ()
    """When each step of the run began, and its name."""


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
    in_known_good_machine: bool = False
    """True: the suspect part was tested in a known-good machine of the shop."""
    inside: bool = False
    """True: read from logs that the installed system kept, and seen inside it."""
    hand_over: bool = False
    """True: the run before the machine goes back to its owner."""
    soak_hours: float | None = None
    """Hours of load it was to stand; None: none."""
    kernel: str | None = None
    program: str | None = None
    """Version of livecheck that made the run."""
    as_root: bool = False
    seconds: float | None = None
    finished: bool = True
    """False: it was cut off, or stopped; its checks are not all made."""
    stopped: bool = False
    """True: the technician stopped it before its end."""
    course: Course | None = None
    """How the meters went; None: nothing was recorded."""
    schema: int = SCHEMA


class ToldLine(Record, frozen=True, kw_only=True):
    """A line of the intake sheet, or a note: words that are kept, found and shown."""

    about: str
    """A row of the intake sheet, or ``note``."""
    words: str


class TakenOut(Record, frozen=True, kw_only=True):
    """A run that stays in the case's folder and is not judged."""

    run: int
    at: str
    """ISO 8601 UTC by the clock of the bench."""
    why: str
    """In the technician's words."""


class Case(Record, frozen=True, kw_only=True):
    """All runs of one complaint of one machine; the runs stand in their own files."""

    id: str
    opened: str
    """ISO 8601 UTC by the machine's clock."""
    ticket: str | None = None
    """The shop's own number for this job."""
    complaint: Complaint = Complaint.INTAKE
    machine: Machine = Machine()
    parts: tuple[str, ...] = ()
    """Identities of the parts fitted when the case was opened: who the machine is when
    its firmware's identities are none."""
    spares: tuple[str, ...] = ()
    """Identities of known-good parts used in this case."""
    cannot: tuple[str, ...] = ()
    """Actions this bench ruled out, such as ``no spare: memory module``."""
    told: tuple[ToldLine, ...] = ()
    """What was told and seen when the machine came in, and notes since."""
    taken_out: tuple[TakenOut, ...] = ()
    """Runs that are no part of it, such as one of another machine."""
    closed: str | None = None
    outcome: str | None = None
    """What the repair proved, in the technician's words."""
    schema: int = SCHEMA
