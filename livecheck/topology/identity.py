"""Which identities can be believed.

Firmware hands out default strings, one UUID for thousands of boards, empty and
doubled serials. Such a value identifies nothing; the place does then.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

from livecheck.records import Machine, Part

# Default strings seen in SMBIOS tables and drive identities; common practice, no source.
_DEFAULTS = re.compile(
    r"to be filled|default.*|not (specified|available|applicable|present|settable)|unknown|none"
    r"|n/?a|null|invalid|undefined|empty|serial ?(no|num|number)?|(system|chassis|base ?board).*"
    r"|0?123456789(abcdef|0)?|o\.?e\.?m\.?|x+|test|sample|asset.*",
    re.IGNORECASE,
)

# Values in use as fillers that no rule above takes; common practice, no source. The two
# UUIDs at the end, which thousands of boards share, from memory.
_FILLERS = frozenset(
    {"12345678", "123456789abc", "sernum0", "no serial", "na"}
    | {"03000200040005000006000700080009", "030201000504070608090a0b0c0d0e0f"}
)


def believable(value: str | None) -> bool:
    """True unless the value is empty, a default string or one character repeated.

    ``value`` may carry a scheme in front (``serial:…``), which is not looked at.
    """
    if value is None:
        return False
    word = value.partition(":")[2] if re.match(r"(serial|wwn|mac|uuid):", value) else value
    word = word.strip().strip(".")
    bare = re.sub(r"[\s:._-]", "", word)
    if len(bare) < 4 or len(set(bare.lower())) < 2:
        return False
    known = {bare.lower(), word.lower()} & _FILLERS
    return not known and _DEFAULTS.fullmatch(word) is None and "to be filled" not in word.lower()


def without_scheme(identity: str) -> str:
    """The serial, name or address of an identity, without what it is."""
    return identity.partition(":")[2] or identity


def trusted(parts: Iterable[Part]) -> dict[str, str]:
    """Part id -> identity, for the parts of one run whose identity can be believed.

    An identity that two parts of the same run claim identifies neither.
    """
    known = {p.id: p.identity for p in parts if p.identity and believable(p.identity)}
    claims = Counter(known.values())
    return {part: identity for part, identity in known.items() if claims[identity] == 1}


def board_names(machine: Machine) -> frozenset[str]:
    """What the board says of itself that can be believed; empty: nothing."""
    # The machine's serial is left out: it is written to the new board after a repair.
    named = (("uuid", machine.uuid), ("board", machine.board_serial))
    return frozenset(
        f"{key}:{value.lower()}" for key, value in named if believable(value) and value
    )


def other_board(before: Machine, after: Machine) -> bool:
    """True when both boards name themselves believably and share no name."""
    old, new = board_names(before), board_names(after)
    if not old or not new:
        return False
    kinds = {name.partition(":")[0] for name in old} & {name.partition(":")[0] for name in new}
    return bool(kinds) and not old & new


def looks(part: Part) -> tuple[str, ...]:
    """What tells apart two parts without identity; unknown words are no difference."""
    return tuple((word or "").strip() for word in (part.vendor, part.model))


def fixed_as(old: Part, new: Part) -> bool:
    """True for a soldered part of the same kind in the same place."""
    return old.soldered and new.soldered and (old.place, old.kind) == (new.place, new.kind)
