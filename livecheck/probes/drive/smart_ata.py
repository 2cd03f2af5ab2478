"""ATA health: the attribute table, error and phy counters, decoded.

Phy event counters: smartmontools 7.3 ``ataprint.cpp``; Serial ATA log 11h.
"""

from __future__ import annotations

from typing import Any, Final

from livecheck.probes.drive import smart_wear
from livecheck.probes.drive.smart_data import (
    COUNT_BYTES,
    AtaAttribute,
    AtaHealth,
    PhyCounter,
    at,
    field,
    whole,
)

RAW_BYTES: Final = 6

IDS: Final = range(1, 256)
"""Of attributes: one byte, and 0 is a row that is not used (smartmontools 7.3 ``ataprint.cpp``)."""


def from_json(full: dict[str, Any]) -> AtaHealth | None:
    """The ATA part of smartctl's JSON; None when there is none."""
    table = at(full, "ata_smart_attributes", "table")
    counters = at(full, "sata_phy_event_counters", "table")
    listed = [row for row in table if isinstance(row, dict)] if isinstance(table, list) else []
    rows = [row for row in listed if type(row.get("id")) is int and row["id"] in IDS]
    phys = [row for row in counters if isinstance(row, dict)] if isinstance(counters, list) else []
    if not rows and not phys:
        return None
    logged = at(full, "ata_smart_error_log", "summary", "count")
    extended = at(full, "ata_smart_error_log", "extended", "count")
    return AtaHealth(
        attributes=tuple(map(_attribute, rows)),
        phy=tuple(filter(None, map(_phy, phys))),
        errors_logged=whole(logged) if logged is not None else whole(extended),
        percent_used=smart_wear.ata_percent_used(full, rows),
    )


def _attribute(row: dict[str, Any]) -> AtaAttribute:
    raw_text = at(row, "raw", "string")
    return AtaAttribute(
        number=row["id"],
        name=str(row.get("name", "")),
        value=field(row.get("value")),
        worst=field(row.get("worst")),
        threshold=field(row.get("thresh")),
        prefailure=at(row, "flags", "prefailure") is True,
        raw=field(at(row, "raw", "value"), RAW_BYTES),
        raw_text=raw_text if isinstance(raw_text, str) else None,
    )


def _phy(row: dict[str, Any]) -> PhyCounter | None:
    number, count = whole(row.get("id")), field(row.get("value"), COUNT_BYTES)
    if number is None or count is None:
        return None
    return PhyCounter(
        number=number,
        count=count,
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


def failing(row: AtaAttribute) -> bool:
    """A pre-failure attribute at or below its threshold now (smartctl exit bit 4)."""
    # Values 1 to 253 are valid; a threshold of 0 never trips (smartmontools ataprint.cpp).
    if row.value is None or not 1 <= row.value <= 0xFD or not row.threshold:
        return False
    return row.prefailure and row.value <= row.threshold
