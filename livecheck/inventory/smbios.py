"""Who the machine is, its memory places and its processor, by the firmware's tables.

What type 17 says of a memory module is the firmware's word, read from the module's
own identification chip at start-up; it is no evidence of the slot.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import Final

import msgspec

from livecheck import host as hosts
from livecheck.host import Host, Unreadable
from livecheck.inventory import slots, tree
from livecheck.inventory.smbios_decode import parse
from livecheck.inventory.smbios_table import iso_date
from livecheck.inventory.smbios_types import (
    CENTRAL_PROCESSOR,
    CHASSIS,
    FORMS,
    MEMORY_KINDS,
    MOTHERBOARD,
    SOLDERED_FORMS,
    SOLDERED_SOCKETS,
    SYSTEM_MEMORY,
    MemoryDevice,
    Processor,
    Tables,
)
from livecheck.inventory.tree import Contribution, Seen, known, part_id
from livecheck.records import Controller, Machine, Part, Place, Presence

TABLE: Final = "/sys/firmware/dmi/tables/DMI"
ENTRY_POINT: Final = "/sys/firmware/dmi/tables/smbios_entry_point"
BY_KERNEL: Final = "/sys/class/dmi/id"

CONTROLLER: Final = "memory-controller"


def is_identity(value: str | None) -> bool:
    """True when a serial number or UUID can tell this machine or part from another."""
    return tree.identity("serial", value) is not None


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
    found = tables(host)
    if found is None:
        machine = _machine_by_kernel(host)
        places, parts = _processors(host, ())
        gap = _why_no_table(host)
    else:
        machine = _machine(found, host)
        places, parts = _processors(host, found.processors)
        gap = ()
    memory_places, modules = _memory(found) if found else ((), ())
    controller = Controller(id=CONTROLLER, kind="memory-controller", name="memory controller")
    return Contribution(
        machine=_honest(machine),
        controllers=(controller,),
        places=(*places, *memory_places, *(slots.named(found, seen) if found else ())),
        parts=(*parts, *modules),
        gaps=(*gap, *_lies(machine), *_damage(found)),
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


# --- The machine


def _machine(found: Tables, host: Host) -> Machine:
    system, firmware = found.system, found.firmware
    # Boards of a hosting unit are listed too; the motherboard is the one that counts.
    board = next((b for b in found.boards if b.kind == MOTHERBOARD), None)
    board = board or (found.boards[0] if found.boards else None)
    sizes = [d.size_bytes for d in system_memory(found) if d.size_bytes]
    return Machine(
        vendor=system.maker if system else None,
        product=system.product if system else None,
        version=system.version if system else None,
        serial=system.serial if system else None,
        uuid=system.uuid if system else None,
        board_vendor=board.maker if board else None,
        board_product=board.product if board else None,
        board_version=board.version if board else None,
        board_serial=board.serial if board else None,
        firmware_vendor=firmware.vendor if firmware else None,
        firmware_version=firmware.version if firmware else None,
        firmware_date=firmware.date if firmware else None,
        chassis=CHASSIS.get(found.chassis.kind or 0) if found.chassis else None,
        processor=_processor_name(host, found.processors),
        installed_memory_bytes=sum(sizes) or None,
    )


def _machine_by_kernel(host: Host) -> Machine:
    """What the kernel copied from the table for everybody to read."""

    def copied(name: str) -> str | None:
        return hosts.text(host, f"{BY_KERNEL}/{name}")

    return Machine(
        vendor=copied("sys_vendor"),
        product=copied("product_name"),
        version=copied("product_version"),
        serial=copied("product_serial"),
        uuid=copied("product_uuid"),
        board_vendor=copied("board_vendor"),
        board_product=copied("board_name"),
        board_version=copied("board_version"),
        board_serial=copied("board_serial"),
        firmware_vendor=copied("bios_vendor"),
        firmware_version=copied("bios_version"),
        firmware_date=iso_date(copied("bios_date")),
        chassis=CHASSIS.get(hosts.number(host, f"{BY_KERNEL}/chassis_type") or 0),
        processor=_processor_name(host, ()),
    )


IDENTITIES: Final = {
    "serial": "serial number",
    "uuid": "UUID",
    "board_serial": "serial number of the board",
}


def _honest(machine: Machine) -> Machine:
    """The machine without identities that tell nobody who it is."""
    lies = {field: None for field in IDENTITIES if not is_identity(getattr(machine, field))}
    return msgspec.structs.replace(machine, **lies)


def _lies(machine: Machine) -> tuple[str, ...]:
    given = {words: getattr(machine, field) for field, words in IDENTITIES.items()}
    return tuple(
        f"The firmware gives “{value}” as {words}, which identifies nothing."
        for words, value in given.items()
        if value is not None and not is_identity(value)
    )


# --- Memory


def system_memory(found: Tables) -> tuple[MemoryDevice, ...]:
    """Places for main memory, leaving out video, cache and flash memory."""
    other = {a.handle for a in found.arrays if a.use is not None and a.use != SYSTEM_MEMORY}
    return tuple(d for d in found.memory if d.array not in other)


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


def _memory(found: Tables) -> tuple[tuple[Place, ...], tuple[Part, ...]]:
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


# --- Processor


def _processor_name(host: Host, processors: tuple[Processor, ...]) -> str | None:
    by_kernel = re.search(r"^model name\s*:\s*(.+)$", _cpuinfo(host), re.MULTILINE)
    if by_kernel:
        return " ".join(by_kernel[1].split())
    return next((p.version for p in processors if p.version), None)


def _cpuinfo(host: Host) -> str:
    return hosts.text(host, "/proc/cpuinfo") or ""


def _processors(
    host: Host, processors: tuple[Processor, ...]
) -> tuple[tuple[Place, ...], tuple[Part, ...]]:
    central = [p for p in processors if p.kind in (CENTRAL_PROCESSOR, None)]
    name = _processor_name(host, processors) or "processor"
    cpus = len(re.findall(r"^processor\s*:", _cpuinfo(host), re.MULTILINE)) or None
    if not central:
        place = Place(
            id="socket:0", kind="processor-socket", name="processor", presence=Presence.SEEN
        )
        part = Part(
            id=f"processor@{place.id}",
            kind="processor",
            name=name,
            place=place.id,
            model=name,
            attributes=known({"logical_processors": cpus}),
        )
        return (place,), (part,)
    named = [(f"socket:{p.socket or i}", p) for i, p in enumerate(central)]
    # Two sockets of one name would be one component.
    unique = dict(reversed(named))
    places = tuple(_socket(id_, p) for id_, p in unique.items())
    parts = tuple(
        _processor(id_, p, name, cpus) for id_, p in unique.items() if p.populated is not False
    )
    return places, parts


def _socket(place: str, processor: Processor) -> Place:
    presence = {True: Presence.SEEN, False: Presence.EMPTY, None: Presence.UNKNOWN}
    return Place(
        id=place,
        kind="processor-socket",
        name=f"processor place {processor.socket or ''}".strip(),
        presence=presence[processor.populated],
        expects="processor",
    )


def _processor(place: str, processor: Processor, name: str, cpus: int | None) -> Part:
    identified_by = tree.identity("serial", processor.serial)
    return Part(
        id=part_id("processor", identified_by, place),
        kind="processor",
        name=name,
        place=place,
        identity=identified_by,
        vendor=processor.maker,
        model=name,
        serial=processor.serial,
        soldered=processor.upgrade in SOLDERED_SOCKETS,
        attributes=known(
            {
                "cores": processor.cores,
                "cores_enabled": processor.cores_enabled,
                "threads": processor.threads,
                "logical_processors": cpus,
                "max_mhz": processor.max_mhz,
                "part_number": processor.part_number,
            }
        ),
    )
