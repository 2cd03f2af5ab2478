"""What a shop keeps of its cases: what each came to, and what the repair proved."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from livecheck.records.base import SCHEMA, Complaint, Record, Side
from livecheck.records.machine import Machine

Fitted = dict[str, Annotated[int, msgspec.Meta(ge=0, le=10_000)]]
"""How many components of each kind a machine had (see ``livecheck.case_index.summary.fitted``)."""


class RunLine(Record, frozen=True, kw_only=True):
    """One run of a case, as much of it as is searched for."""

    number: int
    started: str
    complaint: Complaint = Complaint.INTAKE
    finished: bool = True
    in_known_good_machine: bool = False
    failed: int = 0
    """Failed readings."""


class Summary(Record, frozen=True, kw_only=True):
    """What a case came to when it was last judged; stands beside the case as ``summary.json``.

    It is made from the run records and can be made again at any time: they are the truth.
    """

    case: str
    numbers: tuple[int, ...]
    """Numbers of all run folders it was made from, those with nothing readable in them too."""
    runs: tuple[RunLine, ...] = ()
    machines: tuple[Machine, ...] = ()
    """What the machine called itself, each way once: a case may see two boards."""
    parts: tuple[str, ...] = ()
    """Names and identities of every part that was fitted."""
    fitted: Fitted = msgspec.field(default_factory=dict)
    """How many components of each kind the last run saw (see livecheck.case_index.fitted)."""
    side: Side = Side.UNDETERMINED
    component: str | None = None
    name: str = ""
    """What the component is called."""
    kind: str = ""
    """Its kind."""
    unit: str | None = None
    probability: float = 0.0
    sentence: str = ""
    priors: str = ""
    schema: int = SCHEMA


class Proved(Record, frozen=True, kw_only=True):
    """What a repair proved of one component. Added to a case, never changed."""

    case: str
    recorded: str
    """ISO 8601 UTC by the clock of the computer it was recorded on."""
    component: str
    """Id of the component, or ``no-fault`` or ``software``."""
    kind: str
    proved: bool
    """True: mending it mended the machine. False: it was mended and the fault stayed."""
    note: str = ""
    name: str = ""
    complaint: Complaint = Complaint.INTAKE
    fitted: Fitted = msgspec.field(default_factory=dict)
    """How many components of each kind the machine had: what could have been found."""
    said: Side = Side.UNDETERMINED
    """What livecheck said by then, and of which component."""
    said_component: str | None = None
    said_probability: float = 0.0
    schema: int = SCHEMA


class Learned(Record, frozen=True, kw_only=True):
    """How a shop's confirmed cases moved one figure of the tables."""

    table: Literal["weight", "shows", "alarm", "state"]
    """How usual a kind is; how surely a check shows a fault; how often one alarms by itself; how
    usual a hidden state is."""
    name: str
    """A kind; a check and whom it blames; a check; a hidden state; ``*``: all without a row."""
    expected: float
    """How often the table expected it among what was counted."""
    found: float
    """How often it was so."""
    cases: float
    """Among so many; a case counts in part where its outcome is not believed altogether."""
    factor: Annotated[float, msgspec.Meta(ge=0.2, le=5.0)]
    """On the table's weight, or on the odds of its chance."""


class HeldOut(Record, frozen=True, kw_only=True):
    """How confirmed cases are judged by tables learned from the others."""

    cases: int
    right_before: int
    """Of how many the likeliest unit was the one that was proved: by the tables as they stood."""
    right_after: int
    mended: int
    """Right after and not before."""
    spoilt: int
    log_before: float
    """Mean natural log of the chance given to what was proved."""
    log_after: float
    standard_error: float
    """Of the gain."""


class LearnedTables(Record, frozen=True, kw_only=True):
    """What a shop's confirmed cases taught, as it is used: ``learned.json`` on the shop drive."""

    made: str
    """ISO 8601 UTC."""
    cases: tuple[str, ...]
    """Ids of the cases it was learned from; they are judged without it."""
    learned: tuple[Learned, ...]
    held_out: HeldOut
    schema: int = SCHEMA
