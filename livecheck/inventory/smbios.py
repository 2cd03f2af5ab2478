"""The firmware's SMBIOS table, and what the inventory has from it."""

from __future__ import annotations

from typing import Final

from livecheck.host import Host, Unreadable
from livecheck.inventory import machine, memory_modules, processors, slots
from livecheck.inventory.smbios_decode import parse
from livecheck.inventory.smbios_types import Tables
from livecheck.inventory.tree import Contribution, Seen
from livecheck.records import Controller

TABLE: Final = "/sys/firmware/dmi/tables/DMI"

ENTRY_POINT: Final = "/sys/firmware/dmi/tables/smbios_entry_point"


def tables(host: Host) -> Tables | None:
    """The machine's SMBIOS table; None when there is none that can be read."""
    try:
        table = host.read(TABLE)
    except Unreadable:
        return None
    try:
        entry: bytes | None = host.read(ENTRY_POINT)
    except Unreadable:
        entry = None
    return parse(table, entry)


def find(host: Host, seen: Seen) -> Contribution:
    """The machine, its memory and processor, and what the firmware calls its slots."""
    found = seen.tables
    who = machine.by_kernel(host) if found is None else machine.by_tables(found, host)
    sockets, cpus = processors.find(host, () if found is None else found.processors)
    memory_places, modules = memory_modules.find(found) if found else ((), ())
    controller = Controller(
        id=memory_modules.CONTROLLER, kind="memory-controller", name="memory controller"
    )
    return Contribution(
        machine=machine.with_real_identities(who),
        controllers=(controller,),
        places=(*sockets, *memory_places, *(slots.named(found, seen) if found else ())),
        parts=(*cpus, *modules),
        gaps=(
            *(_why_no_table(host) if found is None else ()),
            *machine.useless_identities(who),
            *_damage(found),
        ),
    )


def _why_no_table(host: Host) -> tuple[str, ...]:
    if not host.names("/sys/firmware/dmi/tables"):
        why = "This machine's firmware hands over no SMBIOS table"
    elif not host.facts().as_root:
        why = "The SMBIOS table can only be read as root"
    else:
        why = "The SMBIOS table could not be read"
    return (f"{why}: memory places, serial numbers and the firmware's battery data are unknown.",)


def _damage(found: Tables | None) -> tuple[str, ...]:
    if found is None or not found.damage:
        return ()
    return (f"The SMBIOS table is damaged in {len(found.damage)} place(s): {found.damage[0]}",)
