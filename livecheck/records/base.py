"""What every record is made of: its base, its words, and how it is written and read."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

import msgspec

from livecheck.records.seal import sealed

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
    WRONG_PICTURE = "wrong-picture"
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


class NotJudged(DamagedRecord):
    """Whole records that the engine cannot work with; the case is kept and shown as such."""

    def __init__(self, case: str, cause: Exception) -> None:
        why = f"{type(cause).__name__}: {cause}"
        super().__init__(f"{case} cannot be judged: {why} (its records are kept as they are)")


def encode(record: Record, more: Mapping[str, msgspec.Raw] | None = None) -> bytes:
    """A record as indented UTF-8 JSON with its checksum and a final newline.

    ``more``: fields that this program does not know, to be kept as they are.

    Halves of surrogate pairs, which stand for bytes of a name that are not UTF-8
    (PEP 383) and have no place in UTF-8 themselves, are written as ``\\udc80``.
    """
    try:
        body = msgspec.json.encode(record)
    except UnicodeEncodeError:
        body = msgspec.json.encode(spelt(msgspec.to_builtins(record)))
    if more:
        own = msgspec.json.decode(body, type=dict[str, msgspec.Raw])
        body = msgspec.json.encode({**more, **own})
    return sealed(msgspec.json.format(body, indent=1) + b"\n")


def unknown_fields(data: bytes, kind: type[Record]) -> dict[str, msgspec.Raw]:
    """What a newer program wrote into a record beside the fields that are known here."""
    found = msgspec.json.decode(data, type=dict[str, msgspec.Raw])
    return {k: v for k, v in found.items() if k not in {*kind.__struct_fields__, "checksum"}}


def spelt(value: object) -> object:
    """The same with halves of surrogate pairs spelt out: what UTF-8 can hold."""
    if isinstance(value, str):
        return value.encode("utf-8", "backslashreplace").decode()
    if isinstance(value, dict):
        return {spelt(key): spelt(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [spelt(item) for item in value]
    return value


def whole_percent(probability: float) -> tuple[str, int]:
    """A probability as whole per cent that never claims certainty: ``over`` 99, ``about`` 93."""
    if probability >= 0.995:
        return "over", 99
    return ("under", 1) if probability < 0.005 else ("about", max(1, round(100 * probability)))
