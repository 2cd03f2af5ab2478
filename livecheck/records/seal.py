"""A checksum in every saved record, so that a flipped bit is told and not judged by.

It is a CRC-32 (ITU-T V.42, as zlib has it) of the record's text without it, and stands in the
record's last line. It is there for drives and cables that lose bits, not against people:
whoever changes a record by hand takes the line away. A record without one is read as it
stands, as other programs write them.
"""

from __future__ import annotations

import re
import zlib
from enum import Enum
from typing import Final

_LINE: Final = re.compile(rb',\n "checksum": "crc32:([0-9a-f]{8})"\n}\s*\Z')
_TAIL: Final = 64
"""Bytes at the end in which a damaged checksum is still known as one."""


class Seal(Enum):
    """What a record's checksum says of it."""

    FITS = "fits"
    NONE = "none"
    BROKEN = "broken"


def sealed(text: bytes) -> bytes:
    """A record's indented JSON with its checksum."""
    return text.removesuffix(b"\n}\n") + b',\n "checksum": "crc32:%08x"\n}\n' % zlib.crc32(text)


def seal_of(data: bytes) -> Seal:
    """Whether a saved record's bytes are those that were saved."""
    found = _LINE.search(data, max(0, len(data) - _TAIL))
    if found is None:
        tail = data[-_TAIL:]
        return Seal.BROKEN if b'"checksum"' in tail or b'"crc32:' in tail else Seal.NONE
    return Seal.FITS if zlib.crc32(unsealed(data)) == int(found[1], 16) else Seal.BROKEN


def unsealed(data: bytes) -> bytes:
    """A saved record's text as it was before its checksum was added."""
    return _LINE.sub(b"\n}\n", data, count=1)
