"""Memory modules made for different speeds: all of them run at the slowest one's. Pure.

No fault: JEDEC's modules tell their speed (SPD) and the firmware sets one for all (common
practice, no source); SMBIOS type 17 tells the speed a module is made for.
"""

from __future__ import annotations

from livecheck.records import Inventory, Part


def unlike(found: Inventory) -> tuple[Part, Part] | None:
    """The slowest and the fastest module, where they differ."""
    fitted = [
        (speed, part)
        for part in found.parts
        if part.kind == "memory-module"
        and isinstance(speed := part.attributes.get("speed_mts"), int)
    ]
    if not fitted:
        return None
    slow, fast = (choose(fitted, key=lambda one: one[0]) for choose in (min, max))
    return (slow[1], fast[1]) if slow[0] < fast[0] else None
