"""A saved record read back: of this schema as it stands, of an older one converted first."""

from __future__ import annotations

from typing import TypeVar

import msgspec

from livecheck.records.base import SCHEMA, DamagedRecord, Record
from livecheck.records.convert import OLDEST, converted

_R = TypeVar("_R", bound=Record)


class _Stamp(msgspec.Struct, frozen=True):
    """All that is looked at before the rest can be understood."""

    schema: int = SCHEMA


def decode(data: bytes, kind: type[_R]) -> _R:
    """Read a record strictly.

    Raises DamagedRecord when the bytes are not JSON, lack a field, hold a value
    of another type, or were written by a newer schema.
    """
    try:
        schema = msgspec.json.decode(data, type=_Stamp).schema
        if schema == SCHEMA:
            return msgspec.json.decode(data, type=kind)
        if OLDEST <= schema < SCHEMA:
            fields = converted(msgspec.json.decode(data, type=dict), kind.__name__)
            return msgspec.convert({**fields, "schema": SCHEMA}, kind)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise DamagedRecord(f"not a whole {kind.__name__.lower()} record: {error}") from error
    raise DamagedRecord(
        f"written by schema {schema}; this program reads schemas {OLDEST} to {SCHEMA} "
        "(use the livecheck version that wrote it)"
    )
