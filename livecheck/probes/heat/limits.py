"""When a load has to end: before the machine's own limits, by its own sensors.

The kernel slows down, sleeps or switches off at the trip points of its thermal zones
(Linux Documentation/driver-api/thermal/sysfs-api.rst); chips give limits of their own
(Documentation/hwmon/sysfs-interface.rst). A load ends some kelvin earlier.
"""

from __future__ import annotations

from typing import Final

from livecheck.host import Host
from livecheck.inventory import sensors

MARGIN: Final = 5.0
"""Kelvin below a limit at which a load ends (assumed)."""

SENSIBLE: Final = (20.0, 127.0)
"""°C: limits and readings outside are placeholders or sensors that are not wired."""


def too_hot(host: Host) -> str | None:
    """Why the load must end now; None: no sensor is near its limit."""
    for zone in sensors.zones(host):
        for trip in zone.trips:
            if trip.kind in sensors.LAST_STEPS and _near(zone.celsius, trip.celsius):
                return f"{zone.chip} is at {zone.celsius:.0f} °C; its limit is {trip.celsius:.0f}"
    for one in sensors.temperatures(host):
        if not one.fault and one.critical is not None and _near(one.celsius, one.critical):
            name = one.label or one.chip
            return f"{name} is at {one.celsius:.0f} °C; its limit is {one.critical:.0f}"
    return None


def _near(celsius: float | None, limit: float) -> bool:
    if celsius is None or not SENSIBLE[0] <= celsius < SENSIBLE[1]:
        return False
    return sensors.LEAST_LIMIT <= limit < SENSIBLE[1] and celsius >= limit - MARGIN


def hottest(host: Host, of: str = "") -> float | None:
    """Highest temperature any trusted sensor gives, °C; ``of``: of the device at this path."""
    values = [] if of else [z.celsius for z in sensors.zones(host)]
    values += [
        t.celsius
        for t in sensors.temperatures(host)
        if not t.fault and t.source.startswith(f"{of}/" if of else "")
    ]
    return max(
        (v for v in values if v is not None and SENSIBLE[0] <= v < SENSIBLE[1]), default=None
    )
