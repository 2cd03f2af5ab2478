"""The inventory: mainboard, controllers, places and the parts in them."""

from __future__ import annotations

import struct
from collections.abc import Callable
from typing import Final

from livecheck.host import Host, Unreadable
from livecheck.inventory import (
    ata,
    backlights,
    block,
    clock,
    ids,
    keys,
    mmc,
    naming,
    nvme,
    pci,
    power_supply,
    radio,
    screens,
    sensors,
    small_devices,
    smbios,
    sound,
    usb,
)
from livecheck.inventory.tree import Contribution, Seen, device_of
from livecheck.records import Inventory, Machine

Finder = Callable[[Host, Seen], Contribution]

FINDERS: Final[tuple[tuple[str, Finder], ...]] = (
    ("PCI", pci.find),
    ("USB", usb.find),
    ("SATA", ata.find),
    ("NVMe", nvme.find),
    ("SD and MMC", mmc.find),
    ("block devices", block.find),
    ("firmware tables", smbios.find),
    ("network and radio", radio.find),
    ("power supplies", power_supply.find),
    ("sensors", sensors.find),
    ("screens", screens.find),
    ("backlights", backlights.find),
    ("keyboards and pads", keys.find),
    ("sound", sound.find),
    ("the clock", clock.find),
    ("other devices", small_devices.find),
)
"""What is enumerated, and by whom, in the order of Seen."""

COMPLETE: Final = ("pci", "usb", "block", "net", "power_supply")
"""Subsystems of which every device must be in the inventory, known or not."""


def take(host: Host) -> Inventory:
    """Enumerate everything. Never raises: what could not be read is in ``gaps``."""
    seen = Seen(ids.load(host), smbios.tables(host))
    for what, finder in (*FINDERS, ("the rest", _rest)):
        try:
            seen.add(finder(host, seen))
        except Unreadable as error:
            seen.gaps.append(f"Not all of {what} was enumerated: {error}.")
        except (ValueError, LookupError, OverflowError, struct.error) as error:
            # A device that lies about itself costs its bus, not the run.
            reason = f"{type(error).__name__}: {error}"
            seen.gaps.append(f"Not all of {what} was enumerated: it gave nonsense ({reason}).")
    found = Inventory(
        machine=seen.machine or Machine(),
        controllers=tuple(seen.controllers.values()),
        places=tuple(seen.places.values()),
        parts=tuple(seen.parts.values()),
        devices=tuple(seen.devices.values()),
        gaps=tuple(seen.gaps),
    )
    return naming.named(found)


def _rest(host: Host, seen: Seen) -> Contribution:
    """Devices no finder knew: they belong to whatever they hang on."""
    listed = [d for subsystem in COMPLETE for d in host.udev(subsystem)]
    wanted = [d for d in listed if d.properties.get("DEVTYPE") != "usb_interface"]
    return Contribution(
        devices=tuple(
            device_of(d, seen.owner(d.path))
            for d in wanted
            if (d.subsystem, d.name) not in seen.devices
        )
    )
