"""What every record is made of: its base, its words, and how it is written and read."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

import msgspec

SCHEMA: Final = 2

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


class DamagedRecord(Exception):
    """A saved file that cannot be read as what it should be."""


def encode(record: Record) -> bytes:
    """A record as indented UTF-8 JSON with a final newline."""
    return msgspec.json.format(msgspec.json.encode(record), indent=1) + b"\n"
