"""The real-time clock and its battery."""

from __future__ import annotations

from typing import Final

from livecheck import host as hosts
from livecheck.host import Host
from livecheck.inventory.tree import Contribution, Seen, device_of
from livecheck.records import Part, Place

CLOCK_CELL: Final = "internal:clock-battery"


def find(host: Host, seen: Seen) -> Contribution:
    """The clock, and the holder of the cell that feeds it."""
    listed = host.udev("rtc")
    if not listed:
        return Contribution()
    place = Place(
        id=CLOCK_CELL,
        kind="internal-connector",
        name="clock battery holder",
        expects="coin-cell",
    )
    # Some machines feed the clock from the main battery and have no cell at all.
    part = Part(
        id=f"coin-cell@{CLOCK_CELL}",
        kind="coin-cell",
        name="coin cell of the clock (where fitted)",
        place=CLOCK_CELL,
    )
    devices = tuple(
        device_of(d, part.id, "clock", None, {"chip": hosts.text(host, f"{d.path}/name")})
        for d in listed
    )
    return Contribution(places=(place,), parts=(part,), devices=devices)
