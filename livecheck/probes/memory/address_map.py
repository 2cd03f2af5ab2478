"""Which memory module a physical address lies in, as far as anything says so."""

from __future__ import annotations

from itertools import pairwise

import msgspec

from livecheck.inventory.memory_modules import place_ids, system_memory
from livecheck.inventory.smbios_types import Tables
from livecheck.records import Inventory, Part


class AddressOwner(msgspec.Struct, frozen=True):
    """Who an address range belongs to."""

    first: int
    last: int
    modules: tuple[str, ...]
    """Ids of the modules; more than one when the range is interleaved over them."""


class MemoryMap(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of the modules and of their addresses."""

    modules: tuple[str, ...]
    """Ids of every module fitted."""
    owners: tuple[AddressOwner, ...] = ()
    source: str = ""
    says: str = ""
    """A sentence: how far the map can be trusted, or why there is none."""

    def modules_at(self, physical: int | None) -> tuple[str, ...]:
        """The modules the address can lie in; all of them when nothing narrows it down."""
        if len(self.modules) <= 1 or physical is None:
            return self.modules
        for owner in self.owners:
            if owner.first <= physical <= owner.last:
                return owner.modules
        return self.modules

    @property
    def separates(self) -> bool:
        """True when it can name a single module somewhere."""
        return len(self.modules) == 1 or any(len(owner.modules) == 1 for owner in self.owners)


def build(inventory: Inventory, tables: Tables | None) -> MemoryMap:
    """The map by SMBIOS tables 17 and 20 (DSP0134 7.18, 7.21).

    Table 20 gives each memory device its range. Devices whose ranges overlap
    share them by interleaving. A table that leaves a fitted module out, or
    whose range is not as large as the module, is not believed.
    """
    fitted = tuple(part for part in inventory.parts if part.kind == "memory-module")
    modules = tuple(part.id for part in fitted)
    if len(modules) == 1:
        return MemoryMap(modules=modules, source="SMBIOS", says="It is the only module fitted.")
    if not modules:
        return MemoryMap(modules=(), says="The firmware names no memory module.")
    ranges = _ranges(fitted, tables) if tables else {}
    doubt = _doubt(fitted, ranges)
    if doubt is not None:
        says = f"{doubt}, so a wrong word lies in one of these modules and which is not known."
        return MemoryMap(modules=modules, says=says)
    return MemoryMap(
        modules=modules,
        owners=_owners(ranges),
        source="SMBIOS table 20",
        says="By the address ranges the firmware gives for each module, which are its word only.",
    )


def _ranges(fitted: tuple[Part, ...], tables: Tables) -> dict[str, list[tuple[int, int]]]:
    by_place = {part.place: part.id for part in fitted}
    devices = system_memory(tables)
    ids = place_ids(devices)
    by_handle = {device.handle: by_place.get(ids[i]) for i, device in enumerate(devices)}
    found: dict[str, list[tuple[int, int]]] = {}
    for entry in tables.device_ranges:
        module = by_handle.get(entry.owner) if entry.owner is not None else None
        if module is not None and entry.first is not None and entry.last is not None:
            found.setdefault(module, []).append((entry.first, entry.last))
    return found


def _doubt(fitted: tuple[Part, ...], ranges: dict[str, list[tuple[int, int]]]) -> str | None:
    if not ranges:
        return "The firmware gives no address range for any module"
    if any(part.id not in ranges for part in fitted):
        return "The firmware gives address ranges for some modules only"
    for part in fitted:
        covered = sum(last - first + 1 for first, last in ranges[part.id])
        if part.size_bytes is not None and covered < part.size_bytes:
            return "The firmware's address ranges do not fit the sizes of the modules"
    return None


def _owners(ranges: dict[str, list[tuple[int, int]]]) -> tuple[AddressOwner, ...]:
    """Cut the ranges at every border: each piece belongs to all who claim it."""
    claims = [(first, last, module) for module, spans in ranges.items() for first, last in spans]
    borders = sorted({b for first, last, _ in claims for b in (first, last + 1)})
    owners = []
    for low, high in pairwise(borders):
        holders = tuple(
            sorted({m for first, last, m in claims if first <= low and high <= last + 1})
        )
        if holders:
            owners.append(AddressOwner(low, high - 1, holders))
    return tuple(owners)
