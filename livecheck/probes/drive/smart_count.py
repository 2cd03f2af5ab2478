"""What the raw value of an ATA attribute counts, and whether it counts that at all. Pure.

Names and raw formats of attributes are a convention of the makers, not of the standard;
they follow smartctl's drive database (smartmontools 7.3 ``drivedb.h``).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from livecheck.probes.drive.smart_data import AtaAttribute

REALLOCATED: Final = 5
END_TO_END: Final = 184
UNCORRECTED: Final = 187
TIMEOUTS: Final = 188
PENDING: Final = 197
OFFLINE_UNCORRECTABLE: Final = 198
LINK_CRC: Final = 199

WORDS_16: Final = frozenset({REALLOCATED, 196, UNCORRECTED, TIMEOUTS})
"""Attributes whose raw value is a 16-bit count and words of the maker's own (drivedb
DEFAULT: raw16(raw16) for 5 and 196); some makers pack 187 and 188 so too."""


NAMED: Final[Mapping[int, tuple[str, ...]]] = {
    REALLOCATED: ("alloc", "retire", "retried", "bad_b"),
    END_TO_END: ("end-to-end", "error_corr", "detect"),
    UNCORRECTED: ("uncor", "_unc_", "_ue_"),
    TIMEOUTS: ("timeout",),
    PENDING: ("pending", "_unc_"),
    OFFLINE_UNCORRECTABLE: ("uncor", "offl"),
    LINK_CRC: ("crc",),
}
"""What is in the names of these counters in smartctl's drive database (smartmontools 7.3
``drivedb.h``). Some makers keep other things under the same numbers, with other names there:
gibibytes read in 198, bad blocks of the factory in 184."""

NAMELESS: Final = frozenset({"", "unknown_attribute", "unknown_ssd_attribute"})
"""Nothing is known of the name: the number tells."""


def means_it(row: AtaAttribute) -> bool:
    """False: by its name the attribute is another thing than its number stands for."""
    name = row.name.strip().lower().replace(" ", "_")
    words = NAMED.get(row.number, ("",))
    return name in NAMELESS or any(word in name for word in words)


def count(row: AtaAttribute) -> int | None:
    """The count an attribute holds; None when its maker packed something else in it.

    smartctl's text is unpacked by its drive database, and its first number is the
    count (``0 (2000 0)`` is none). A bare 48-bit number is taken apart by hand.
    """
    found = re.match(r"\s*(\d{1,15})", row.raw_text) if row.raw_text else None
    if found:
        number = int(found[1])
    elif row.raw is None:
        return None
    elif row.number in WORDS_16:
        number, rest = row.raw & 0xFFFF, row.raw >> 16
        if number and rest:
            return None  # no telling how wide the count is
    else:
        number = row.raw
    return number if plausible(row, number) else None


def plausible(row: AtaAttribute, number: int) -> bool:
    """False: no count of events can be that large while the drive rates itself unharmed.

    Common practice, no source: raw values are the maker's own business, and several
    makers keep packed fields in them (recorded: a CRC count of 42,899,987 at a value of 100).
    """
    if number >= 1 << 32:
        return False
    # Values start at 100, 200 or 253; a drive rates its own losses far below 100.
    return not (number > 1 << 20 and (row.value or 0) >= 100)
