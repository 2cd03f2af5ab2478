"""What console and worker say to each other: JSON, a line each.

The first line to the worker is a ``Request``; the lines after it are orders, a word
each (``ORDERS``). The worker answers with replies until it ends. When the console is
gone, the worker sees the end of its input and stops as if told to.
"""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck.flex import FlexResult
from livecheck.probes.runner import Event
from livecheck.records import Complaint, Machine
from livecheck.session import Plan

STOP: Final = "stop"
SKIP: Final = "skip"
PAUSE: Final = "pause"
RESUME: Final = "resume"
DEEPEN: Final = "deepen"


class Request(msgspec.Struct, frozen=True, kw_only=True):
    """What the console wants."""

    kind: str
    """``look``: which machine and case is this; ``run``: a whole run; ``asked``: a run of
    the plan's readings alone; ``save``: a run that was kept elsewhere; ``off``: switch the
    machine off."""
    plan: Plan
    shop: str | None = None
    source: str | None = None
    """A capture to replay instead of this machine."""
    file: str | None = None
    """``save``: where the run was kept."""
    flex: FlexResult | None = None
    """``asked``: what a flex test counted, to be judged and saved."""


class Choice(msgspec.Struct, frozen=True, array_like=True):
    """Something that can be picked: what it stands for, and how it reads."""

    value: str
    label: str


class Known(msgspec.Struct, frozen=True, kw_only=True):
    """The open case this machine, or the ticket, belongs to."""

    case: str
    ticket: str | None
    complaint: Complaint
    runs: int
    number: int
    """Of the run to come."""
    same_machine: bool
    """False: found by its ticket, and the board on the bench is another one."""
    cut_off: bool
    """True: the last run never came to its end."""
    changes: tuple[str, ...]
    """What changed since the case's last run, a line each."""
    damaged: tuple[str, ...]
    cannot: tuple[str, ...]
    lasted: dict[str, float]
    """Probe -> seconds it took in the last run."""
    lasted_depth: str


class Looked(msgspec.Struct, frozen=True, kw_only=True, tag="looked"):
    """What stands on the bench, before anything is asked."""

    machine: Machine
    devices: int
    parts: int
    shop: str
    as_root: bool
    places: tuple[Choice, ...]
    """Places with a part in them."""
    numbered: tuple[Choice, ...]
    """Identities of the fitted parts that carry one."""
    unnumbered: tuple[Choice, ...]
    """Ids of the fitted parts that carry none: no swap of them is seen."""
    treated: tuple[Choice, ...]
    """``id=word`` of what can be cleaned, re-flashed or replaced unseen by any sensor."""
    kinds: tuple[Choice, ...]
    """Titles of the kinds of part fitted here."""
    seeming: tuple[Choice, ...] = ()
    """Places of which only the technician knows whether they are empty."""
    known: Known | None = None


class Proposed(msgspec.Struct, frozen=True, kw_only=True, tag="proposed"):
    """What the case's runs said last, and the step that was proposed."""

    sentence: str
    step: str | None
    action: str | None


class Happened(msgspec.Struct, frozen=True, kw_only=True, tag="happened"):
    """A probe moved on."""

    event: Event


class Finished(msgspec.Struct, frozen=True, kw_only=True, tag="finished"):
    """The run is saved."""

    case_folder: str


class Trouble(msgspec.Struct, frozen=True, kw_only=True, tag="trouble"):
    """It could not be done; says what to try."""

    says: str
    kept: str | None = None
    """File that holds the run the shop drive refused."""


Reply = Looked | Proposed | Happened | Finished | Trouble
