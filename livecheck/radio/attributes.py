"""Netlink attributes: type, length, value (include/uapi/linux/netlink.h, struct nlattr).

A message's payload is a row of them, each padded to four bytes; a nested one holds
such a row again. What is cut off or too short is passed over: what a radio says of
itself is no reason to stop.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping

HEAD = 4
TYPE_MASK = 0x3FFF
"""Without NLA_F_NESTED and NLA_F_NET_BYTEORDER."""


def walk(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Type and value of each attribute, in order."""
    at = 0
    while at + HEAD <= len(data):
        length = int.from_bytes(data[at : at + 2], sys.byteorder)
        sort = int.from_bytes(data[at + 2 : at + 4], sys.byteorder) & TYPE_MASK
        if length < HEAD or at + length > len(data):
            return
        yield sort, data[at + HEAD : at + length]
        at += (length + 3) & ~3


def table(data: bytes) -> dict[int, bytes]:
    """The attributes by type; of a type that stands twice, the last."""
    return dict(walk(data))


def pack(attributes: Mapping[int, bytes]) -> bytes:
    """A row of attributes."""
    return b"".join(_one(sort, value) for sort, value in attributes.items())


def _one(sort: int, value: bytes) -> bytes:
    length = HEAD + len(value)
    head = length.to_bytes(2, sys.byteorder) + sort.to_bytes(2, sys.byteorder)
    return head + value + bytes(-length % 4)


def unsigned(value: bytes | None) -> int | None:
    """A whole number of 1, 2, 4 or 8 bytes in the machine's order; None for anything else."""
    if value is None or len(value) not in (1, 2, 4, 8):
        return None
    return int.from_bytes(value, sys.byteorder)


def signed(value: bytes | None) -> int | None:
    """The same with a sign."""
    if value is None or len(value) not in (1, 2, 4, 8):
        return None
    return int.from_bytes(value, sys.byteorder, signed=True)


def word(value: bytes | None) -> str | None:
    """A text that ends in a zero byte."""
    return None if value is None else value.split(b"\0", 1)[0].decode("utf-8", "replace")


def address(value: bytes | None) -> str | None:
    """A hardware address as ``02:00:00:00:00:01``."""
    return value.hex(":") if value is not None and len(value) == 6 else None
