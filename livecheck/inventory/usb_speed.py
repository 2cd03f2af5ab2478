"""How fast a USB device and its socket can be, and where the socket is. Pure but for reading.

A device says in its Binary device Object Store (BOS) whether it is made for more than
480 Mb/s, also while it runs slower. A socket's fast half is a port of its own; the kernel
pairs the halves by the firmware's locations, and guesses by port number where there are
none (Linux 6.12 ``drivers/usb/core/port.c``), so only a pair with locations is trusted.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck import host as hosts
from livecheck.host import Host, Unreadable

DEVICE_CAPABILITY: Final = 0x10
SUPERSPEED: Final = 0x03
SUPERSPEED_PLUS: Final = 0x0A
"""Descriptor and capability types (USB 3.2 specification, 9.6.2)."""

FAST_BIT: Final = 1 << 3
"""wSpeedsSupported: 5 Gb/s."""

HIGH_SPEED: Final = 480


def fastest(bos: bytes) -> int | None:
    """Mb/s by a BOS descriptor: 480, 5000 or 10000; None where it is none.

    10000 stands for 10 Gb/s and more. A device without the SuperSpeed capability is one
    for at most 480.
    """
    if len(bos) < 5 or bos[1] != 0x0F:
        return None
    best, at = HIGH_SPEED, bos[0]
    end = min(len(bos), int.from_bytes(bos[2:4], "little"))
    while at + 3 <= end and bos[at] >= 3:
        kind = bos[at + 2] if bos[at + 1] == DEVICE_CAPABILITY else None
        if kind == SUPERSPEED and at + 6 <= end and bos[at + 4] & FAST_BIT:
            best = max(best, 5000)
        elif kind == SUPERSPEED_PLUS:
            best = max(best, 10000)
        at += bos[at]
    return best


def device_max(host: Host, path: str) -> int | None:
    """Mb/s the device can do, as far as it says (``bos_descriptors``: Linux 6.9 and later)."""
    speed = running(host, path)
    try:
        found = fastest(host.read(f"{path}/bos_descriptors"))
    except Unreadable:
        found = None
    known = [value for value in (found, speed) if value is not None]
    return int(max(known)) if found is not None or (speed or 0) >= 5000 else None


def running(host: Host, path: str) -> float | None:
    """Mb/s the device or hub runs at."""
    told = re.fullmatch(r"[0-9]{1,6}(?:\.[0-9]+)?", hosts.text(host, f"{path}/speed") or "")
    return float(told[0]) if told else None


def located(host: Host, port: str) -> bool:
    """Whether the firmware gives the port a location (``location``, 0: none)."""
    return bool(hosts.number(host, f"{port}/location", 0))


def where(host: Host, port: str) -> str | None:
    """Words for where the socket is, by the firmware (ACPI _PLD); None: it does not say.

    Linux Documentation/ABI/testing/sysfs-devices-physical_location.
    """
    folder = f"{port}/physical_location"
    panel = hosts.text(host, f"{folder}/panel")
    if panel in (None, "unknown"):
        return None
    place = [
        word
        for word in (
            hosts.text(host, f"{folder}/vertical_position"),
            hosts.text(host, f"{folder}/horizontal_position"),
        )
        if word not in (None, "center")
    ]
    dock = ", in the dock" if hosts.text(host, f"{folder}/dock") == "yes" else ""
    return ", ".join([f"{panel} side", *(str(word) for word in place)]) + dock
