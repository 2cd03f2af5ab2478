"""Memory places and modules by the firmware's table.

What type 17 says of a memory module is the firmware's word, read from the module's
own identification chip at start-up; it is no evidence of the slot.
"""

from __future__ import annotations

from collections import Counter
from typing import Final

from livecheck.inventory import tree
from livecheck.inventory.smbios_codes import FORMS, MEMORY_KINDS, SOLDERED_FORMS, SYSTEM_MEMORY
from livecheck.inventory.smbios_types import MemoryDevice, Tables
from livecheck.inventory.tree import known, part_id
from livecheck.records import Part, Place, Presence

CONTROLLER: Final = "memory-controller"
MOST_PLACES: Final = 64
"""Assumed: no laptop has more; a damaged table may list ten thousand."""


def system_memory(found: Tables) -> tuple[MemoryDevice, ...]:
    """Places for main memory, leaving out video, cache and flash memory."""
    other = {a.handle for a in found.arrays if a.use is not None and a.use != SYSTEM_MEMORY}
    return tuple(d for d in found.memory if d.array not in other)[:MOST_PLACES]


def place_ids(devices: tuple[MemoryDevice, ...]) -> dict[int, str]:
    """Position in the list -> id of the place.

    Board makers name places after the channel, after the module, or all alike: the
    bank, and then the order in the table, tells apart what the locator does not.
    """
    names = [d.locator or d.bank or "memory" for d in devices]
    banked = [
        f"{n}/{d.bank}" if names.count(n) > 1 and d.bank and d.bank != n else n
        for n, d in zip(names, devices, strict=True)
    ]
    return {
        i: f"dimm:{n}" if banked.count(n) == 1 else f"dimm:{n}#{banked[: i + 1].count(n)}"
        for i, n in enumerate(banked)
    }


def is_soldered(device: MemoryDevice) -> bool:
    """True for chips on the board: by form, or low-power memory on no exchangeable card."""
    if device.form in SOLDERED_FORMS:
        return True
    # LPDDR comes on no module but CAMM, which has a code of its own, 11h (from memory).
    low_power = MEMORY_KINDS.get(device.kind or 0, "").startswith("LPDDR")
    return low_power and device.form != 0x11


def find(found: Tables) -> tuple[tuple[Place, ...], tuple[Part, ...]]:
    """Every place for main memory, and what is in it."""
    devices = system_memory(found)
    ids = place_ids(devices)
    claims = Counter(d.serial for d in devices if d.size_bytes)
    places = tuple(_memory_place(d, ids[i]) for i, d in enumerate(devices))
    parts = tuple(
        _module(d, ids[i], claims[d.serial] > 1) for i, d in enumerate(devices) if d.size_bytes != 0
    )
    return places, parts


def _memory_place(device: MemoryDevice, place: str) -> Place:
    if device.size_bytes is None:
        presence = Presence.UNKNOWN
    else:
        presence = Presence.SEEN if device.size_bytes else Presence.EMPTY
    return Place(
        id=place,
        kind="memory-slot",
        name=f"memory place {place.removeprefix('dimm:')}",
        controller=CONTROLLER,
        presence=presence,
        expects="memory-module",
        form=FORMS.get(device.form or 0),
        attributes=known({"bank": device.bank, "smbios_handle": device.handle}),
    )


def _module(device: MemoryDevice, place: str, doubled: bool) -> Part:
    # A serial number that two modules of one machine claim identifies neither.
    identified_by = None if doubled else tree.identity("serial", device.serial)
    gibibytes = f"{device.size_bytes / (1 << 30):g} GiB" if device.size_bytes else None
    kind = MEMORY_KINDS.get(device.kind or 0)
    words = (gibibytes, kind if kind not in ("other", "unknown") else None, device.part_number)
    return Part(
        id=part_id("memory-module", identified_by, place),
        kind="memory-module",
        name=" ".join(w for w in words if w) or "memory module",
        place=place,
        identity=identified_by,
        vendor=device.maker,
        model=device.part_number,
        serial=device.serial,
        soldered=is_soldered(device),
        size_bytes=device.size_bytes,
        data_bits=device.data_bits,
        total_bits=device.total_bits,
        attributes=known(
            {
                "memory_type": kind,
                "form": FORMS.get(device.form or 0),
                "speed_mts": device.speed_mts,
                "configured_mts": device.configured_mts,
                "configured_volts": device.configured_volts,
                "ranks": device.ranks,
            }
        ),
    )
