"""Guided checks as data: the rows of shared/guided.toml, and what a machine has of them."""

from __future__ import annotations

import msgspec

from livecheck.records import Complaint, DeviceFacts, Place, Record, Value


class Need(Record, frozen=True, kw_only=True):
    """Hardware a check is for; every field that is given must fit."""

    part: str | None = None
    """Kind of part."""
    place: str | None = None
    """Kind of place."""
    external: bool | None = None
    device: str | None = None
    """Subsystem of a device."""
    named: str | None = None
    """Regular expression somewhere in the name, description or model."""
    having: dict[str, Value] = msgspec.field(default_factory=dict)
    """Facts of a device with these values."""


class GuideRow(Record, frozen=True, kw_only=True):
    """One guided check as data."""

    name: str
    title: str
    guide: str
    """Which state machine runs it (``livecheck.guided.table.GUIDES``)."""
    becomes: str
    """The check of shared/checks.toml its reading is of."""
    needs: tuple[Need, ...]
    """Any one of them; nothing of it there: the check is not offered."""
    lines: tuple[str, ...]
    """What to do, in order."""
    kind: str = "mainboard"
    """Kind of component it is about (shared/components.toml)."""
    each: bool = False
    """True: one check for each thing found; False: one for all of them."""
    asks: str = ""
    """The question, where the technician is the one who judges."""
    passed: str = ""
    failed: str = ""
    """What the reading says, either way."""
    calls: tuple[str, ...] = ()
    """Where on the machine the thing may sit: names that a place can be given."""
    cautions: tuple[str, ...] = ()
    """Names in shared/cautions.toml, to be read before it begins."""
    complaints: tuple[Complaint, ...] = ()
    """At a hand-over it is asked where the customer complained of one of these; empty: always."""
    minutes: float = 1.0


class DrawnKey(Record, frozen=True, kw_only=True):
    """One key of the keyboard's drawing."""

    code: int
    label: str
    width: float = 1.0
    core: bool = True
    """True: every laptop has it, so it must be seen."""


class GuidedTable(Record, frozen=True, kw_only=True):
    """The whole of shared/guided.toml."""

    check: tuple[GuideRow, ...]
    keys: tuple[tuple[DrawnKey, ...], ...]
    """Rows of keys from the top."""


class GuideTarget(Record, frozen=True, kw_only=True):
    """One thing a check is about."""

    component: str
    """Where the reading is taken: a component's id, or ``machine``."""
    name: str
    device: str | None = None
    """Kernel name of the device."""
    path: str | None = None
    """Its path in sysfs."""
    facts: DeviceFacts | None = None
    """What the kernel tells of the device, or the EDID of the panel."""
    place: Place | None = None
    """The place, where the check is about one."""
    called: bool = False
    """True: the shop has named it already."""
    attributes: dict[str, Value] = msgspec.field(default_factory=dict)
    """More that is known of it and only shown."""


class GuideOffer(Record, frozen=True, kw_only=True):
    """A check this machine has the hardware for."""

    row: GuideRow
    targets: tuple[GuideTarget, ...]

    @property
    def title(self) -> str:
        """Title with the thing's name, where there is one check for each."""
        if not self.row.each:
            return self.row.title
        return f"{self.row.title} ({self.targets[0].name})"
