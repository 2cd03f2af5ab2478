"""What soldered flash (eMMC) says of its own life: the kernel reads it out, smartctl cannot.

JESD84-B51, 7.4.35 to 7.4.37 of the extended CSD (from memory): life time estimates in tenths used,
0Bh past the end, and how much of the spare blocks is gone: 1 normal, 2 from 80 %, 3 from 90 % on.
Files: Linux Documentation/driver-api/mmc/mmc-dev-attrs.rst.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final

from livecheck.host import Host, text
from livecheck.probes.finding import Finding, finding
from livecheck.records import Check, Part

SOURCE: Final = "extended CSD"
PAST: Final = 0x0B
SPARES: Final = {1: "less than 80 %", 2: "80 to 90 %", 3: "more than 90 %"}
"""Of the blocks kept for replacing bad ones, how many are used up."""
URGENT: Final = 3


def judge(host: Host, part: Part, checks: Mapping[str, Check]) -> Iterator[Finding]:
    """Wear and health of a part on an MMC bus; nothing for one that does not tell."""
    folder = f"/sys/bus/mmc/devices/{part.attributes.get('mmc')}"
    tenths = [t for t in _bytes(text(host, f"{folder}/life_time")) if 0 < t <= PAST]
    if tenths:
        used = 10 * max(tenths)
        limit = checks["storage.wear"].limits["used_percent"]
        says = f"{used - 10} to {used} % of the writing it is made for is used up."
        if max(tenths) == PAST:
            used, says = used - 10, "All of the writing it is made for is used up, and more."
        yield finding("storage.wear", max(tenths) == PAST or used > limit, used, says, "%")
    spares = next(iter(_bytes(text(host, f"{folder}/pre_eol_info"))), None)
    if spares in SPARES:
        says = f"Of its spare blocks it has used {SPARES[spares]}."
        yield finding("storage.health", spares == URGENT, spares, says)


def _bytes(told: str | None) -> list[int]:
    return [int(word, 16) for word in re.findall(r"0x([0-9a-fA-F]{1,2})\b", told or "")]
