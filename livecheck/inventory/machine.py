"""Who the machine is: by the firmware's tables, or by what the kernel copied from them."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck import host as hosts
from livecheck.host import Host
from livecheck.inventory import processors, tree
from livecheck.inventory.memory_modules import system_memory
from livecheck.inventory.smbios_codes import CHASSIS, MOTHERBOARD
from livecheck.inventory.smbios_table import iso_date
from livecheck.inventory.smbios_types import Tables
from livecheck.records import Machine

BY_KERNEL: Final = "/sys/class/dmi/id"

IDENTITIES: Final = {
    "serial": "serial number",
    "uuid": "UUID",
    "board_serial": "serial number of the board",
}


def is_identity(value: str | None) -> bool:
    """True when a serial number or UUID can tell this machine or part from another."""
    return tree.identity("serial", value) is not None


def by_tables(found: Tables, host: Host) -> Machine:
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
        processor=processors.name(host, found.processors),
        installed_memory_bytes=sum(sizes) or None,
    )


def by_kernel(host: Host) -> Machine:
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
        processor=processors.name(host, ()),
    )


def with_real_identities(machine: Machine) -> Machine:
    """The machine without identities that tell nobody who it is."""
    lies = {field: None for field in IDENTITIES if not is_identity(getattr(machine, field))}
    return msgspec.structs.replace(machine, **lies)


def useless_identities(machine: Machine) -> tuple[str, ...]:
    given = {words: getattr(machine, field) for field, words in IDENTITIES.items()}
    return tuple(
        f"The firmware gives “{value}” as {words}, which identifies nothing."
        for words, value in given.items()
        if value is not None and not is_identity(value)
    )
