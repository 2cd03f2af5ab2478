"""A saved record read back: of this schema as it stands, of an older one converted first."""

from __future__ import annotations

from typing import TypeVar

import msgspec

from livecheck.records.base import SCHEMA, DamagedRecord, Record
from livecheck.records.convert import OLDEST, converted
from livecheck.records.seal import Seal, seal_of

_R = TypeVar("_R", bound=Record)


class _Stamp(msgspec.Struct, frozen=True):
    """All that is looked at before the rest can be understood."""

    schema: int = SCHEMA


def decode(data: bytes, kind: type[_R]) -> _R:
    """Read a record strictly.

    Raises DamagedRecord when the bytes are not JSON, lack a field, hold a value
    of another type, were written by a newer schema, or are not those that were saved.
    """
    try:
        schema = msgspec.json.decode(data, type=_Stamp).schema
        if schema <= SCHEMA and seal_of(data) is Seal.BROKEN:
            raise DamagedRecord(
                "changed or damaged since it was saved: its checksum does not fit (copy it from a "
                'backup; if it was changed on purpose, take its line "checksum" away)'
            )
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
