"""How much of the writing a flash drive is made for is used up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from livecheck.probes.drive.smart_data import SmartData, at, field, whole
from livecheck.probes.finding import Finding, finding, unjudged

LIFE_LEFT: Final = frozenset(
    {
        "Percent_Lifetime_Remain",
        "Percent_Life_Remaining",
        "Percent_Lifetime_Used",
        "SSD_Life_Left",
        "Remaining_Lifetime_Perc",
    }
    | {"Media_Wearout_Indicator", "Perc_Rated_Life_Remain", "SSD_Life_Left_Perc"}
)
"""Names (smartmontools 7.3 ``drivedb.h``) of flash drives' attributes whose value falls from 100
to 0 as their life is used up. (Lifetime_Used: its raw value rises; recorded: 75 with raw 25.)"""

NO_VALUE: Final = frozenset({230})
"""Western Digital's Media_Wearout_Indicator: recorded with a value of 1 on a little used drive and
of 100 on one long past its planned writing; what its raw value means smartctl does not know."""


def ata_percent_used(full: dict[str, Any], rows: list[dict[str, Any]]) -> int | None:
    """smartctl's own figure (7.4), the device statistics, else the maker's attribute."""
    own = whole(at(full, "endurance_used", "current_percent"))
    if own is not None:
        return own
    pages = at(full, "ata_device_statistics", "pages") or []
    for page in pages if isinstance(pages, list) else []:
        table = at(page, "table")
        for row in table if isinstance(table, list) else []:
            if at(row, "name") == "Percentage Used Endurance Indicator":
                return whole(at(row, "value"))
    for row in rows:
        left = whole(row.get("value"))
        named = str(row.get("name")) in LIFE_LEFT and row.get("id") not in NO_VALUE
        if named and left is not None and left <= 100:
            return 100 - left
    return None


def judge(data: SmartData, limits: Mapping[str, float]) -> tuple[Finding, ...]:
    """How much of a flash drive's life is used up; nothing for a drive that does not tell."""
    used = next(
        (
            value
            for value in (
                data.nvme.used_percent if data.nvme else None,
                data.ata.percent_used if data.ata else None,
                data.scsi.used_percent if data.scsi else None,
            )
            if value is not None
        ),
        None,
    )
    if used is None:
        return ()
    if field(used) is None:
        why = f"it tells {used} % of its life as used up, which is no share"
        return (unjudged("storage.wear", why, used, "%"),)
    nvme = data.nvme
    bad = used >= limits.get("used_percent", 100)
    says = f"{used} % of the writing it is made for is used up."
    if nvme is not None and nvme.spare_percent is not None:
        says += f" Spare blocks left: {nvme.spare_percent} %."
    return (finding("storage.wear", bad, used, says, "%"),)
