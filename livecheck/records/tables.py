"""What is known beforehand: checks, kinds of component, cautions."""

from __future__ import annotations

from typing import Annotated, Final

import msgspec

from livecheck.records.base import Complaint, Record
from livecheck.records.case_index import Learned
from livecheck.records.parameters import (
    Amount,
    BenchTable,
    Chance,
    Factor,
    Minutes,
    ModelParameters,
    Share,
)
from livecheck.records.shop import ShopFacts

BUILT_IN: Final = "built-in"
KERNEL: Final = "kernel."
HISTORY: Final = "history."
"""First words of the checks of kernel messages, on the stick and in the installed system."""
DAYS: Final = f"{HISTORY}days"
"""The reading that tells what the installed system logged on which day."""
LOCKED: Final = "kernel.storage-locked"
"""The check that fails where a drive refuses access."""
MEDIUM: Final = "medium"
"""Symptom group of the checks that tell whether a drive gives back what was written."""


class Blame(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One row of a check's blame rule: who could make it fail, and how surely it shows."""

    who: str
    """A role on the path of the component the reading was taken at: ``part``, ``place``,
    ``controller``, ``upstream`` (every controller above that one), ``mainboard``, ``firmware``;
    or ``software``; or ``kind:K``: every component of kind K in the machine; or ``path:K``:
    the component of kind K on that path only; or ``hardware``: all in the machine that no other
    row names, but not ``software``."""
    detect: Chance
    """Chance that a fault in it makes this check fail in a run in which the fault acts."""
    source: str
    complaints: dict[Complaint, Chance] = msgspec.field(default_factory=dict)
    """The same under a complaint, where it is another."""
    elsewhere: Chance | None = None
    """With ``kind:K``: the same for those of the kind that the reading does not name, where it
    names one of them: its label may be wrong."""


class Grade(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the size of a failed reading's value adds."""

    least: float
    """It counts from this value on, in the check's unit."""
    ratio: Factor
    """How many times likelier such a value is of a fault than of a false alarm, against
    failures of any size."""
    source: str


class Check(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One row of shared/checks.toml."""

    name: str
    question: str
    """What the check asks, as a question a technician would ask."""
    false_alarm: Chance
    """Chance that it fails in one run with nothing at fault."""
    false_alarm_source: str
    blames: tuple[Blame, ...]
    unit: str | None = None
    limits: dict[str, float] = msgspec.field(default_factory=dict)
    """Figures the probe judges by, named with their unit."""
    limits_source: str = ""
    direct: bool = False
    """True: a failure is a direct observation of the controller side (no swap needed)."""
    symptom_group: str = ""
    """Name shared by checks that look at the same events of a fault; empty: its own."""
    event: bool = False
    """True: each failure is an event of its own that somebody saw; a false alarm never stays."""
    complaints: tuple[str, ...] = ()
    """Complaints under which a measurement may be proposed; empty: under all."""
    made_at: str = ""
    """Kind of the component a measurement is made at; empty: at whichever it is made for."""
    anywhere: Share = 0.0
    """Share of faults that show wherever one looks: what a reading that looked at a
    part only (``Reading.covered``) can find at least."""
    anywhere_source: str = ""
    setting: str = ""
    """What to try where a setting makes it fail as well as a fault does; empty: none does."""
    finding: bool = False
    """True: what it finds is certain, such as wear; whether that explains the complaint is
    another question, answered by how usual it is (``false_alarm``)."""
    lifelong: bool = False
    """True: its value is a count of the part's whole life, which no repair takes back."""
    unsafe: bool = False
    """What fails it endangers whoever has it: a machine does not go back with that in it."""
    hidden_state: str = ""
    """Row of ``ModelParameters.hidden_states`` that makes it fail too; empty: none."""
    state_shows: tuple[Share, ...] = ()
    """Chance that the hidden state, where it is there, shows in this check; for each degree."""
    grades: tuple[Grade, ...] = ()
    """How much more a large value says, by falling from one row to the next."""
    lacks: str = ""
    """What to do where it was not judged for want of something on the stick."""
    last_counts: bool = False
    """True: a figure that stays as it is as long as nothing is done to the machine; read again,
    the first one was read wrongly."""
    again: str = ""
    """Why a failure is looked for once more before anything is done about it."""


class Kind(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One row of shared/components.toml: a kind of component."""

    kind: str
    title: str
    """As a technician would say it, without an article."""
    role: str
    """``part``, ``place``, ``controller``, ``mainboard``, ``software`` or ``contact``."""
    weight: Amount
    """Prior weight of one such component being at fault; the engine normalises."""
    weight_source: str
    unit: str
    """Kind of the replaceable unit to order: itself for a part, ``mainboard`` for most else."""
    swap_minutes: Minutes | None = None
    reseat_minutes: Minutes | None = None
    minutes_source: str = ""
    price: Annotated[float, msgspec.Meta(ge=0.0, le=10_000.0)] | None = None
    """Typical price of the unit in units of a bench hour's price; None: not sold alone."""
    price_source: str = ""
    behind: tuple[str, ...] = ()
    """Covers to open first, outermost first; rows of ``BenchTable.covers``."""
    complaints: dict[Complaint, Factor] = msgspec.field(default_factory=dict)
    """Complaint -> factor on the weight; 1 where it is not named."""
    modes: dict[str, Share] = msgspec.field(default_factory=dict)
    """Ways of failing that exclude each other: symptom groups of the checks that see it, spaces
    between -> share of faults."""
    modes_source: str = ""
    steady: bool = False
    """True: its faults hardly ever come and go by themselves."""
    full_tests_show: Share | None = None
    """Chance that the full tests show a fault of it that the quick ones missed; None: there
    are none for it."""
    full_tests_source: str = ""
    risk: Share = 0.0
    """Chance that taking it out or treating it harms the machine."""
    risk_source: str = ""
    workaround: str = ""
    """What does its work where it is not mended; empty: nothing."""
    silent_check: str = ""
    """Of a place: the check that fails where its part does not answer; empty: there is none."""


class Caution(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One row of shared/cautions.toml: what to say beside a step that can hurt."""

    name: str
    text: str
    source: str
    until_opened: bool = False
    """True: told at the counter, it is minded until somebody has looked inside."""


class IntakeRow(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One question of the intake sheet."""

    about: str
    title: str
    choices: tuple[str, ...]
    """Answers to choose from; other words can be typed."""
    hours: tuple[float, ...] = ()
    """Hours of use between two times it shows, for the first of the choices."""
    opens: tuple[str, ...] = ()
    """Words that have the cover taken off before anything else."""
    cautions: dict[str, str] = msgspec.field(default_factory=dict)
    """Word -> name of the caution that stands from then on."""
    finds: dict[str, str] = msgspec.field(default_factory=dict)
    """Word -> check that fails by it."""
    kinds: dict[str, str] = msgspec.field(default_factory=dict)
    """Word -> kind of the part it names; ``bluetooth`` is half of a wireless card."""
    weighs: dict[str, dict[str, float]] = msgspec.field(default_factory=dict)
    """Word -> kind of component -> factor on its weight."""


class Knowledge(Record, frozen=True, kw_only=True):
    """The tables everything is judged by."""

    checks: dict[str, Check]
    kinds: dict[str, Kind]
    cautions: dict[str, Caution]
    bench: BenchTable
    model: ModelParameters
    sentences: dict[str, str]
    """What verdicts and steps are told with, by key, with ``{fields}`` to fill in."""
    intake: dict[str, IntakeRow] = msgspec.field(default_factory=dict)
    """The intake sheet, in the order of asking."""
    origin: str = BUILT_IN
    """``BUILT_IN``, or the shop files that override a part of them."""
    shop: ShopFacts = ShopFacts()
    """What the shop says of itself."""
    learned: tuple[Learned, ...] = ()
    """What the shop's confirmed outcomes did to the weights; empty: nothing."""

    def say(self, key: str, /, **fields: object) -> str:
        """A sentence with its fields filled in. Raises KeyError for a key or field it lacks."""
        return self.sentences[key].format_map(fields)
