"""The layers a kernel message speaks of."""

from __future__ import annotations

from typing import Final

MEDIUM: Final = "medium"
LINK: Final = "link"
HOST_BUS: Final = "host bus"
TIMEOUT: Final = "timeout"
PROTOCOL: Final = "protocol"
MACHINE_CHECK: Final = "machine check"
POWER: Final = "power"
THERMAL: Final = "thermal"
FIRMWARE: Final = "firmware"
GRAPHICS: Final = "graphics"
OTHER: Final = "other"

UNKNOWN: Final = "a message livecheck does not know"
COMPLAINT: Final = "a complaint of its driver that livecheck does not know closer"

LOCKED: Final = "the drive refused access: it is locked, or its settings forbid it"

LAYERS: Final = frozenset(
    {MEDIUM, LINK, HOST_BUS, TIMEOUT, PROTOCOL, MACHINE_CHECK}
    | {POWER, THERMAL, FIRMWARE, GRAPHICS, OTHER}
)
