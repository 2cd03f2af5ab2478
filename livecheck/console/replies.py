"""What the worker replies: JSON, a line each, until it ends."""

from __future__ import annotations

import msgspec

from livecheck.languages import ENGLISH
from livecheck.probes.runner import Event
from livecheck.records import Complaint, Machine, ToldLine
from livecheck.telling import Telling


class Pickable(msgspec.Struct, frozen=True, array_like=True):
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
    """True: the last run never came to its end, and nobody stopped it."""
    stopped: bool
    """True: the technician stopped the last run."""
    changes: tuple[str, ...]
    """What changed since the case's last run, a line each."""
    damaged: tuple[str, ...]
    cannot: tuple[str, ...]
    lasted: dict[str, float]
    """Probe -> seconds it took in the last run."""
    lasted_depth: str
    told: tuple[ToldLine, ...] = ()
    """What was told at the counter."""


class Looked(msgspec.Struct, frozen=True, kw_only=True, tag="looked"):
    """What stands on the bench, before anything is asked."""

    machine: Machine
    devices: int
    parts: int
    shop: str
    language: str = ENGLISH
    """What the shop's technicians read."""
    as_root: bool
    lasts: bool = True
    """False: what is saved there is gone when this machine is switched off."""
    places: tuple[Pickable, ...]
    """Places with a part in them."""
    numbered: tuple[Pickable, ...]
    """Identities of the fitted parts that carry one."""
    unnumbered: tuple[Pickable, ...]
    """Ids of the fitted parts that carry none: no swap of them is seen."""
    treated: tuple[Pickable, ...]
    """``id=word`` of what can be cleaned, re-flashed or replaced unseen by any sensor."""
    kinds: tuple[Pickable, ...]
    """Titles of the kinds of part fitted here."""
    seeming: tuple[Pickable, ...] = ()
    """Places of which only the technician knows whether they are empty."""
    called: dict[str, str] = {}
    """English names of components, and what they are called in the console's language."""
    known: Known | None = None
    nameless: tuple[str, ...] = ()
    """Tickets of open cases of dark machines that were measured at the bench: any may be this."""


class Proposed(msgspec.Struct, frozen=True, kw_only=True, tag="proposed"):
    """What the case's runs said last, and the step that was proposed."""

    sentence: str
    step: str | None
    action: str | None
    told: Telling | None = None
    """What the next run is told once that was done; None: it shows by itself."""


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
