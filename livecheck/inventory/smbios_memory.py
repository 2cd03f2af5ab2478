"""From raw SMBIOS structures to those of memory (DMTF DSP0134, types 16 to 20)."""

from __future__ import annotations

from livecheck.inventory import smbios_types as t
from livecheck.inventory.smbios_table import Raw, unless


def array(raw: Raw) -> t.MemoryArray:
    kilobytes = raw.dword(7)
    if kilobytes == 0x8000_0000:
        most = raw.qword(0x0F)
    else:
        most = kilobytes << 10 if kilobytes is not None else None
    return t.MemoryArray(
        handle=raw.handle,
        location=raw.byte(4),
        use=raw.byte(5),
        error_correction=raw.byte(6),
        max_bytes=unless(most, 0),
        places=raw.word(0x0D),
    )


def _size(raw: Raw) -> int | None:
    code = raw.word(0x0C)
    if code is None or code == 0xFFFF:
        return None
    if code == 0x7FFF:
        extended = raw.dword(0x1C)
        return (extended & 0x7FFF_FFFF) << 20 if extended is not None else None
    return (code & 0x7FFF) << (10 if code & 0x8000 else 20)


def _speed(raw: Raw, offset: int, wide: int) -> int | None:
    code = raw.word(offset)
    if code == 0xFFFF:
        wider = raw.dword(wide)
        code = wider & 0x7FFF_FFFF if wider is not None else None
    return unless(code, 0)


def _millivolts(raw: Raw, offset: int) -> float | None:
    code = unless(raw.word(offset), 0)
    return code / 1000 if code is not None else None


def device(raw: Raw) -> t.MemoryDevice:
    attributes = raw.byte(0x1B)
    return t.MemoryDevice(
        handle=raw.handle,
        array=raw.word(4),
        total_bits=unless(raw.word(8), 0xFFFF, 0),
        data_bits=unless(raw.word(0x0A), 0xFFFF, 0),
        size_bytes=_size(raw),
        form=raw.byte(0x0E),
        locator=raw.string(0x10),
        bank=raw.string(0x11),
        kind=raw.byte(0x12),
        speed_mts=_speed(raw, 0x15, 0x54),
        configured_mts=_speed(raw, 0x20, 0x58),
        maker=raw.string(0x17),
        serial=raw.string(0x18),
        asset=raw.string(0x19),
        part_number=raw.string(0x1A),
        ranks=unless(attributes & 0x0F, 0) if attributes is not None else None,
        min_volts=_millivolts(raw, 0x22),
        max_volts=_millivolts(raw, 0x24),
        configured_volts=_millivolts(raw, 0x26),
    )


def mapped_range(raw: Raw, wide_first: int, wide_last: int) -> t.MappedRange:
    """Addresses in kilobytes, or in bytes in the wide fields when they do not fit."""
    first, last = raw.dword(4), raw.dword(8)
    if first == 0xFFFF_FFFF:
        start, end = raw.qword(wide_first), raw.qword(wide_last)
    else:
        start = first << 10 if first is not None else None
        end = (last << 10) + 1023 if last is not None else None
    return t.MappedRange(handle=raw.handle, first=start, last=end, owner=raw.word(0x0C))
