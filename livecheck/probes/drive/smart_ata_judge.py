"""Findings of an ATA drive's attribute table, error and phy counters. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from livecheck.probes.drive.smart_ata import failing
from livecheck.probes.drive.smart_count import (
    END_TO_END,
    LINK_CRC,
    OFFLINE_UNCORRECTABLE,
    PENDING,
    REALLOCATED,
    TIMEOUTS,
    UNCORRECTED,
    count,
    means_it,
)
from livecheck.probes.drive.smart_data import AtaAttribute, AtaHealth, PhyCounter, SmartData
from livecheck.probes.finding import Finding, finding, unjudged

MEDIUM: Final = {
    REALLOCATED: "reallocated",
    PENDING: "waiting to be reallocated",
    OFFLINE_UNCORRECTABLE: "unreadable when the drive scanned itself",
    UNCORRECTED: "reported as unreadable",
    END_TO_END: "damaged inside the drive",
}

CRC_COUNTERS: Final = frozenset({0x001, 0x00B, 0x00F, 0x012})
"""Phy counters of damaged frames; their ids and names: checks of ataprint.cpp."""

R_ERR_COUNTERS: Final = frozenset({0x002, 0x003, 0x004, 0x005, 0x006, 0x007})

Limits = Mapping[str, float]


def judge(data: SmartData, medium: Limits, link: Limits) -> tuple[Finding, ...]:
    """Findings of an ATA drive's own counters. Limits are those of the check table."""
    ata = data.ata
    if ata is None:
        return ()
    # Of a row that is there twice, the one that counts more.
    listed = sorted(ata.attributes, key=lambda row: row.raw or 0)
    rows = {row.number: row for row in listed if means_it(row)}
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
    # One sector can be reported many times; a figure of 0 beside a fault would be read as none.
    value, unit = (inside, "errors") if inside > total else (total, "sectors")
    found = finding("storage.medium-errors", bad, value, says, unit)
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
    seen = [f"{crc} frame(s) arrived damaged"] if crc else []
    seen += [f"{refused} were refused"] if refused else []
    told = " and ".join(seen) or "no frame arrived damaged or was refused"
    says = f"On the link {told} since the drive's counters started."
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
        number = count(row) if row.number == LINK_CRC and means_it(row) else None
        if number is not None:
            found["attribute 199"] = number
    return found
