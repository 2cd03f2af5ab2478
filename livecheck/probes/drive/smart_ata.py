"""ATA health: the attribute table, error and phy counters, decoded and judged.

Names and raw formats of attributes are a convention of the makers, not of the
standard; formats follow smartctl's DEFAULT drive database (smartmontools 7.3
``drivedb.h``). Phy event counters: smartmontools 7.3 ``ataprint.cpp``; Serial ATA log 11h.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from livecheck.probes.drive import smart_wear
from livecheck.probes.drive.smart_data import (
    AtaAttribute,
    AtaHealth,
    PhyCounter,
    SmartData,
    at,
    whole,
)
from livecheck.probes.finding import Finding, finding, unjudged

REALLOCATED: Final = 5
SPIN_RETRY: Final = 10
END_TO_END: Final = 184
UNCORRECTED: Final = 187
TIMEOUTS: Final = 188
PENDING: Final = 197
OFFLINE_UNCORRECTABLE: Final = 198
LINK_CRC: Final = 199

MEDIUM: Final = {
    REALLOCATED: "reallocated",
    PENDING: "waiting to be reallocated",
    OFFLINE_UNCORRECTABLE: "unreadable when the drive scanned itself",
    UNCORRECTED: "reported as unreadable",
    END_TO_END: "damaged inside the drive",
}

WORDS_16: Final = frozenset({REALLOCATED, 196, UNCORRECTED, TIMEOUTS})
"""Attributes whose raw value is a 16-bit count and words of the maker's own (drivedb
DEFAULT: raw16(raw16) for 5 and 196); some makers pack 187 and 188 so too."""

CRC_COUNTERS: Final = frozenset({0x001, 0x00B, 0x00F, 0x012})
"""Phy counters of damaged frames; their ids and names: checks of ataprint.cpp."""
R_ERR_COUNTERS: Final = frozenset({0x002, 0x003, 0x004, 0x005, 0x006, 0x007})

Limits = Mapping[str, float]


def from_json(full: dict[str, Any]) -> AtaHealth | None:
    """The ATA part of smartctl's JSON; None when there is none."""
    table = at(full, "ata_smart_attributes", "table")
    counters = at(full, "sata_phy_event_counters", "table")
    rows = [row for row in table if isinstance(row, dict)] if isinstance(table, list) else []
    phys = [row for row in counters if isinstance(row, dict)] if isinstance(counters, list) else []
    if not rows and not phys:
        return None
    logged = at(full, "ata_smart_error_log", "summary", "count")
    extended = at(full, "ata_smart_error_log", "extended", "count")
    return AtaHealth(
        attributes=tuple(_attribute(row) for row in rows if whole(row.get("id")) is not None),
        phy=tuple(_phy(row) for row in phys if whole(row.get("id")) is not None),
        errors_logged=whole(logged) if logged is not None else whole(extended),
        percent_used=smart_wear.ata_percent_used(full, rows),
    )


def _attribute(row: dict[str, Any]) -> AtaAttribute:
    return AtaAttribute(
        number=whole(row.get("id")) or 0,
        name=str(row.get("name", "")),
        value=whole(row.get("value")),
        worst=whole(row.get("worst")),
        threshold=whole(row.get("thresh")),
        prefailure=at(row, "flags", "prefailure") is True,
        raw=whole(at(row, "raw", "value")),
        raw_text=at(row, "raw", "string"),
    )


def _phy(row: dict[str, Any]) -> PhyCounter:
    return PhyCounter(
        number=whole(row.get("id")) or 0,
        count=whole(row.get("value")) or 0,
        name=str(row.get("name", "")),
        saturated=row.get("overflow") is True,
    )


def from_pysmart(table: Any) -> AtaHealth | None:
    """The attribute table of pySMART's AtaAttributes."""
    if table is None:
        return None
    rows = [row for row in table.legacyAttributes if row is not None]
    return AtaHealth(
        attributes=tuple(
            AtaAttribute(
                number=row.num,
                name=row.name,
                value=whole(row.value),
                worst=whole(str(row.worst)),
                threshold=row.thresh,
                prefailure=bool(row.flags & 1),
                raw_text=str(row.raw),
            )
            for row in rows
        )
    )


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


def failing(row: AtaAttribute) -> bool:
    """A pre-failure attribute at or below its threshold now (smartctl exit bit 4)."""
    # Values 1 to 253 are valid; a threshold of 0 never trips (smartmontools ataprint.cpp).
    if row.value is None or not 1 <= row.value <= 0xFD or not row.threshold:
        return False
    return row.prefailure and row.value <= row.threshold


def judge(data: SmartData, medium: Limits, link: Limits) -> tuple[Finding, ...]:
    """Findings of an ATA drive's own counters. Limits are those of the check table."""
    ata = data.ata
    if ata is None:
        return ()
    rows = {row.number: row for row in ata.attributes}
    found = [*_medium(rows, bool(data.solid_state), medium), _history(rows)]
    found.extend(_phy_findings(ata.phy, link))
    found.extend(_commands(rows, ata))
    return tuple(found)


def health(data: SmartData) -> Finding | None:
    """The drive's verdict on itself, and attributes past their thresholds."""
    rows = data.ata.attributes if data.ata else ()
    past = [
        f"{_title(row)}: {row.value}, threshold {row.threshold}" for row in rows if failing(row)
    ]
    if data.passed is False or past:
        says = "The drive says of itself that it is failing"
        reason = f": {past[0]}." if past else "."
        return finding("storage.health", True, "failing", says + reason).with_details(tuple(past))
    if data.passed is None:
        return None
    return finding("storage.health", False, "passed", "The drive rates itself healthy.")


def _title(row: AtaAttribute) -> str:
    return f"{row.number} {row.name}".strip()


def _medium(
    rows: dict[int, AtaAttribute], solid_state: bool, limits: Limits
) -> tuple[Finding, ...]:
    kept = {n: rows[n] for n in MEDIUM if n in rows}
    if not kept:
        return (unjudged("storage.medium-errors", "the drive keeps no such counters"),)
    counts = {n: count(row) for n, row in kept.items()}
    known = {n: c for n, c in counts.items() if c is not None}
    details = tuple(f"{_title(kept[n])}: {_raw(kept[n])}" for n in kept)
    if not known:
        why = "its maker packs these counters in a way of its own"
        return (unjudged("storage.medium-errors", why),)
    # Flash wears out block by block: replaced blocks are a count of age there, not a fault.
    faults = {n: c for n, c in known.items() if not (solid_state and n == REALLOCATED)}
    # A waiting sector that the drive's own scan met is counted in both 197 and 198.
    waiting = max(faults.get(PENDING, 0), faults.get(OFFLINE_UNCORRECTABLE, 0))
    total = faults.get(REALLOCATED, 0) + waiting
    inside = faults.get(UNCORRECTED, 0) + faults.get(END_TO_END, 0)
    bad = total >= limits.get("sectors", 1) or inside > 0
    worst = [f"{c} {MEDIUM[n]}" for n, c in faults.items() if c]
    says = f"Sectors {', '.join(worst)}." if worst else "No lost or replaced sectors counted."
    found = finding("storage.medium-errors", bad, total, says, "sectors")
    return (found.with_details(details),)


def _raw(row: AtaAttribute) -> str:
    return row.raw_text or (f"{row.raw:#014x}" if row.raw is not None else "not recorded")


def _history(rows: dict[int, AtaAttribute]) -> Finding:
    row = rows.get(LINK_CRC)
    if row is None:
        return unjudged("storage.link-history", "the drive keeps no count of link errors")
    number = count(row)
    if number is None:
        return unjudged("storage.link-history", "its maker packs this counter in its own way")
    says = (
        f"{number} transfers arrived damaged in this drive's life, here or elsewhere; "
        "watch whether the count still rises."
        if number
        else "No transfer ever arrived damaged."
    )
    found = finding("storage.link-history", number > 0, number, says, "errors")
    return found.with_details((_title(row),))


def _phy_findings(counters: tuple[PhyCounter, ...], limits: Limits) -> tuple[Finding, ...]:
    if not counters:
        return ()
    crc = sum(c.count for c in counters if c.number in CRC_COUNTERS)
    refused = sum(c.count for c in counters if c.number in R_ERR_COUNTERS)
    bad = crc >= limits.get("crc_events", 1) or refused >= limits.get("r_err_events", 8)
    says = (
        f"{crc} frames arrived damaged and {refused} were refused on the link since the "
        "drive's counters started."
    )
    details = tuple(
        f"{c.number:03X} {c.name}: {c.count}{'+' if c.saturated else ''}" for c in counters
    )
    found = finding("storage.link-errors", bad, crc + refused, says, "errors")
    return (found.with_details(details),)


def _commands(rows: dict[int, AtaAttribute], ata: AtaHealth) -> tuple[Finding, ...]:
    number = count(rows[TIMEOUTS]) if TIMEOUTS in rows else None
    if number is None and ata.errors_logged is None:
        return ()
    value = (number or 0) + (ata.errors_logged or 0)
    why = "aborted and timed-out commands have many causes; the other checks tell which"
    return (unjudged("storage.command-errors", why, value, "commands"),)


def link_change(before: AtaHealth, after: AtaHealth) -> int | None:
    """By how much the link counters rose between two readings; None when neither is kept.

    A counter that went back (reset, replaced drive) counts from zero.
    """
    earlier, later = _link_counts(before), _link_counts(after)
    both = earlier.keys() & later.keys()
    if not both:
        return None
    return sum(max(0, later[name] - earlier[name]) for name in both)


def _link_counts(health_data: AtaHealth) -> dict[str, int]:
    found = {
        f"phy {c.number:03X}": c.count
        for c in health_data.phy
        if c.number in CRC_COUNTERS | R_ERR_COUNTERS
    }
    for row in health_data.attributes:
        number = count(row) if row.number == LINK_CRC else None
        if number is not None:
            found["attribute 199"] = number
    return found
