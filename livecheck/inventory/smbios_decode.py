"""From raw SMBIOS structures to typed ones (DMTF DSP0134, section 7)."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from livecheck.inventory import smbios_memory as memory
from livecheck.inventory import smbios_types as t
from livecheck.inventory.smbios_codes import CHEMISTRY
from livecheck.inventory.smbios_table import Raw, entry_point, faults, iso_date, unless, walk

_S = TypeVar("_S")


def parse(table: bytes, entry: bytes | None) -> t.Tables:
    """A whole table with its entry point, where that could be read. Never raises."""
    head, damage = entry_point(entry) if entry is not None else (None, ())
    walked = walk(table)
    raws = walked.structures
    version = head.version if head else None
    found = [*damage, *walked.damage, *faults(raws), *_against_entry(head, table, len(raws))]
    return t.Tables(
        version=version,
        firmware=_first(_each(raws, 0, _firmware)),
        system=_first(_each(raws, 1, lambda raw: _system(raw, version))),
        boards=_each(raws, 2, _board),
        chassis=_first(_each(raws, 3, _chassis)),
        processors=_each(raws, 4, _processor),
        slots=_each(raws, 9, _slot),
        onboard=(
            *_each(raws, 41, _onboard),
            *(one for raw in raws if raw.kind == 10 for one in _old_onboard(raw)),
        ),
        arrays=_each(raws, 16, memory.array),
        memory=_each(raws, 17, memory.device),
        array_ranges=_each(raws, 19, lambda raw: memory.mapped_range(raw, 0x0F, 0x17)),
        device_ranges=_each(raws, 20, lambda raw: memory.mapped_range(raw, 0x13, 0x1B)),
        batteries=_each(raws, 22, _battery),
        structures=len(raws),
        damage=tuple(found),
    )


def _against_entry(head: t.EntryPoint | None, table: bytes, count: int) -> list[str]:
    if head is None:
        return []
    found = []
    if head.structures is not None and head.structures != count:
        found.append(
            f"The SMBIOS entry point counts {head.structures} structures, the table holds {count}."
        )
    if len(table) > head.table_bytes or (head.exact and len(table) < head.table_bytes):
        found.append(
            f"The SMBIOS entry point says the table is {head.table_bytes} bytes long; "
            f"it is {len(table)}."
        )
    return found


def _each(raws: tuple[Raw, ...], kind: int, decode: Callable[[Raw], _S]) -> tuple[_S, ...]:
    return tuple(decode(raw) for raw in raws if raw.kind == kind)


def _first(found: tuple[_S, ...]) -> _S | None:
    return found[0] if found else None


def _release(raw: Raw, offset: int) -> str | None:
    major, minor = raw.byte(offset), raw.byte(offset + 1)
    # FFh in both: the firmware does not use the fields.
    if major is None or minor is None or major == minor == 0xFF:
        return None
    return f"{major}.{minor}"


def _firmware(raw: Raw) -> t.Firmware:
    units = raw.byte(9)
    size = (units + 1) << 16 if units is not None else None
    extended = raw.word(0x18)
    if units == 0xFF and extended is not None:
        # Two top bits: megabytes or gigabytes; the rest is the number of them.
        size = (extended & 0x3FFF) << {0: 20, 1: 30}.get(extended >> 14, 20)
    return t.Firmware(
        handle=raw.handle,
        vendor=raw.string(4),
        version=raw.string(5),
        date=iso_date(raw.string(8)),
        rom_bytes=size,
        release=_release(raw, 0x14),
        controller_release=_release(raw, 0x16),
    )


def uuid_text(raw: bytes, version: tuple[int, int] | None) -> str | None:
    """The UUID's text; None when it is all FF (not present) or all 00 (not set).

    Since 2.6 the first three fields are little-endian (DSP0134 7.2.1).
    """
    if len(raw) != 16 or raw in (b"\xff" * 16, bytes(16)):
        return None
    if version is None or version >= (2, 6):
        raw = raw[3::-1] + raw[5:3:-1] + raw[7:5:-1] + raw[8:]
    h = raw.hex()
    return f"{h[:8]}-{h[8:12]}-{h[12:16]}-{h[16:20]}-{h[20:]}"


def _system(raw: Raw, version: tuple[int, int] | None) -> t.System:
    return t.System(
        handle=raw.handle,
        maker=raw.string(4),
        product=raw.string(5),
        version=raw.string(6),
        serial=raw.string(7),
        uuid=uuid_text(raw.body[8:0x18], version),
        sku=raw.string(0x19),
        family=raw.string(0x1A),
    )


def _board(raw: Raw) -> t.Board:
    return t.Board(
        handle=raw.handle,
        maker=raw.string(4),
        product=raw.string(5),
        version=raw.string(6),
        serial=raw.string(7),
        asset=raw.string(8),
        kind=raw.byte(0x0D),
    )


def _chassis(raw: Raw) -> t.Chassis:
    kind = raw.byte(5)
    # Bit 7 tells whether the chassis has a lock.
    kind = kind & 0x7F if kind is not None else None
    return t.Chassis(handle=raw.handle, kind=kind, maker=raw.string(4), serial=raw.string(7))


def _volts(code: int | None) -> float | None:
    """Processor voltage (DSP0134 7.5.4): tenths of a volt, or a legacy list of bits."""
    if not code:
        return None
    if code & 0x80:
        return (code & 0x7F) / 10 or None
    bits = [volts for bit, volts in ((1, 5.0), (2, 3.3), (4, 2.9)) if code & bit]
    return bits[0] if len(bits) == 1 else None


def _count(raw: Raw, offset: int, wide: int) -> int | None:
    """A count in one byte, or in a word elsewhere when the byte is FFh; 0: unknown."""
    small = raw.byte(offset)
    return unless(raw.word(wide) if small == 0xFF else small, 0, 0xFFFF)


def _processor(raw: Raw) -> t.Processor:
    status = raw.byte(0x18)
    return t.Processor(
        handle=raw.handle,
        socket=raw.string(4),
        kind=raw.byte(5),
        maker=raw.string(7),
        version=raw.string(0x10),
        volts=_volts(raw.byte(0x11)),
        max_mhz=unless(raw.word(0x14), 0),
        current_mhz=unless(raw.word(0x16), 0),
        populated=bool(status & 0x40) if status is not None else None,
        upgrade=raw.byte(0x19),
        serial=raw.string(0x20),
        part_number=raw.string(0x22),
        cores=_count(raw, 0x23, 0x2A),
        cores_enabled=_count(raw, 0x24, 0x2C),
        threads=_count(raw, 0x25, 0x2E),
    )


def _slot(raw: Raw) -> t.CardSlot:
    bus, devfn = raw.byte(0x0F), raw.byte(0x10)
    segment = raw.word(0x0D)
    # All ones: the slot is not on such a bus, or the firmware does not know.
    known = segment not in (None, 0xFFFF) and bus not in (None, 0xFF) and devfn not in (None, 0xFF)
    return t.CardSlot(
        handle=raw.handle,
        name=raw.string(4),
        kind=raw.byte(5),
        width=raw.byte(6),
        in_use={3: False, 4: True}.get(raw.byte(7) or 0),
        unavailable=None if raw.byte(7) is None else raw.byte(7) == 5,
        segment=segment if known else None,
        bus=bus if known else None,
        devfn=devfn if known else None,
    )


def _onboard(raw: Raw) -> t.Onboard:
    """7.42: the top bit of the kind says whether the firmware has it switched on."""
    kind = raw.byte(5)
    return t.Onboard(
        handle=raw.handle,
        name=raw.string(4),
        kind=None if kind is None else kind & 0x7F,
        enabled=kind is None or bool(kind & 0x80),
        segment=raw.word(7),
        bus=raw.byte(9),
        devfn=raw.byte(0x0A),
    )


def _old_onboard(raw: Raw) -> tuple[t.Onboard, ...]:
    """7.11 (obsolete): pairs of kind and name fill the structure."""
    found = []
    for at in range(4, len(raw.body) - 1, 2):
        kind = raw.byte(at)
        if kind is not None:
            found.append(
                t.Onboard(
                    handle=raw.handle,
                    name=raw.string(at + 1),
                    kind=kind & 0x7F,
                    enabled=bool(kind & 0x80),
                )
            )
    return tuple(found)


def _battery(raw: Raw) -> t.FirmwareBattery:
    capacity, multiplier = unless(raw.word(0x0A), 0), raw.byte(0x15)
    made, serial, chemistry = raw.string(6), raw.string(7), CHEMISTRY.get(raw.byte(9) or 0)
    # The Smart Battery fields stand in for strings that are not there.
    packed, number = raw.word(0x12), raw.word(0x10)
    if made is None and packed:
        made = f"{(packed >> 9) + 1980:04d}-{packed >> 5 & 15:02d}-{packed & 31:02d}"
    if serial is None and number:
        serial = f"{number:04X}"
    if raw.byte(9) == 2:
        chemistry = raw.string(0x14)
    return t.FirmwareBattery(
        handle=raw.handle,
        location=raw.string(4),
        maker=raw.string(5),
        made=made,
        serial=serial,
        name=raw.string(8),
        chemistry=chemistry,
        design_mwh=capacity * (multiplier or 1) if capacity is not None else None,
        design_mv=unless(raw.word(0x0C), 0),
        max_error_percent=unless(raw.byte(0x0F), 0xFF),
    )
