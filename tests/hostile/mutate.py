"""Bytes and JSON changed at random, in the ways that break readers: from one dice, repeatable."""

from __future__ import annotations

import json
import random
from typing import Any, Final

TOKENS: Final = (
    *(b"\x00", b"\xff" * 8, b"\n", b"\\x0a", b"\\u0000", b"\xed\xa0\x80", b"\xc2\x9b2J"),
    *("\u202e".encode(), "\u2028".encode(), b"../../x", b"/etc/passwd", b"%n%s", b"<script>"),
    *(b"9" * 400, b"-1", b"1e308", b"NaN", b"0x", b"[" * 300, b'{"a":' * 300, b'"', b"'", b","),
)  # fmt: skip
VALUES: Final[tuple[Any, ...]] = (
    *(None, True, False, 0, -1, 2**31, 2**63, 2**64, -(2**63), 10**400, 1e308, 5e-324, -0.5),
    *("", " ", "\x00", "machine", "\x1b[31m", "\u202e", "../..", "\ud800", "²", "9" * 300),
    *([], {}, [[]], [None], {"": ""}, ["x"] * 300, "x" * 9000),
)  # fmt: skip


def mutated(data: bytes, dice: random.Random, others: list[bytes]) -> bytes:
    """The bytes with one to eight changes."""
    if dice.random() < 0.5:
        tree = _parsed(data)
        if isinstance(tree, dict | list) and tree:
            for _ in range(dice.choice((1, 1, 2, 4))):
                replaced(tree, dice)
            return json.dumps(tree).encode()
    changed = bytearray(data)
    for _ in range(dice.choice((1, 1, 2, 3, 8))):
        _change(changed, dice, others)
    return bytes(changed)


def _parsed(data: bytes) -> Any:
    try:
        return json.loads(data)
    except (ValueError, RecursionError):
        return None


def replaced(tree: Any, dice: random.Random) -> None:
    """One place of a JSON tree changed: another value, another key, gone, doubled."""
    spots = _spots(tree)
    if not spots:
        return
    holder, key = dice.choice(spots)
    kind = dice.randrange(5)
    if kind == 0:
        del holder[key]
    elif kind == 1:
        other, its = dice.choice(spots)
        holder[key] = other[its] if isinstance(other, dict) or its < len(other) else None
    elif kind == 2 and isinstance(holder, dict):
        holder[dice.choice(("", "schema", "checksum", "\x00", key + "x"))] = holder.pop(key)
    elif kind == 3 and isinstance(holder, list):
        holder.insert(key, holder[key])
    else:
        holder[key] = dice.choice(VALUES)
    _uncircle(tree, ())


def _uncircle(tree: Any, above: tuple[int, ...]) -> None:
    """A place put inside itself is cut: JSON has no circles."""
    if not isinstance(tree, dict | list):
        return
    inside = (*above, id(tree))
    for key in list(tree) if isinstance(tree, dict) else range(len(tree)):
        if id(tree[key]) in inside:
            tree[key] = None
        else:
            _uncircle(tree[key], inside)


def _spots(tree: Any) -> list[tuple[Any, Any]]:
    found, queue = [], [tree]
    while queue:
        holder = queue.pop()
        for key in list(holder) if isinstance(holder, dict) else range(len(holder)):
            found.append((holder, key))
            if isinstance(holder[key], dict | list):
                queue.append(holder[key])
    return found


def _change(data: bytearray, dice: random.Random, others: list[bytes]) -> None:
    at = dice.randrange(len(data) + 1)
    end = min(len(data), at + dice.choice((1, 1, 2, 4, 16, 100)))
    kind = dice.randrange(7)
    if kind == 0 and data:
        data[at % len(data)] ^= 1 << dice.randrange(8)
    elif kind == 1 and data:
        data[at % len(data)] = dice.choice((0, 1, 0x7F, 0x80, 0xFF, dice.randrange(256)))
    elif kind == 2:
        del data[at:end]
    elif kind == 3:
        data[at:at] = data[at:end] * dice.choice((1, 2, 50))
    elif kind == 4:
        data[at:at] = dice.choice(TOKENS)
    elif kind == 5:
        other = dice.choice(others)
        start = dice.randrange(len(other) + 1)
        data[at:end] = other[start : start + dice.choice((4, 40, 400))]
    else:
        del data[at:]
