"""Lays SMBIOS tables out byte by byte, with no help from the code under test.

Offsets and codes: DMTF DSP0134; those of types 2, 4, 9, 16, 17, 19, 20 and 22 were
read in the source of dmidecode, the others are from memory. The tests hold the
result against dmidecode's own reading of it.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable
from pathlib import Path

Field = tuple[int, str, int]
"""Offset, struct code and value."""


def structure(
    kind: int, handle: int, length: int, fields: Iterable[Field], strings: Iterable[str] = ()
) -> bytes:
    body = bytearray(length)
    struct.pack_into("<BBH", body, 0, kind, length, handle)
    for offset, code, value in fields:
        struct.pack_into("<" + code, body, offset, value)
    tail = b"".join(s.encode() + b"\0" for s in strings) or b"\0"
    return bytes(body) + tail + b"\0"


def end(handle: int = 0x7F00) -> bytes:
    return structure(127, handle, 4, ())


def entry_point_64(table: bytes, version: tuple[int, int] = (3, 4)) -> bytes:
    body = bytearray(b"_SM3_\0\x18" + bytes([*version, 0, 1, 0]))
    body += struct.pack("<IQ", len(table), 0x20)
    body[5] = -sum(body) & 0xFF
    return bytes(body)


def entry_point_32(table: bytes, count: int, version: tuple[int, int] = (2, 8)) -> bytes:
    body = bytearray(b"_SM_\0\x1f" + bytes([*version]) + struct.pack("<HB5x", 256, 0))
    tail = bytearray(b"_DMI_\0" + struct.pack("<HIHB", len(table), 0x20, count, 0x28))
    tail[5] = -sum(tail) & 0xFF
    body += tail
    body[4] = -sum(body) & 0xFF
    return bytes(body)


def dump(path: Path, table: bytes, entry: bytes) -> Path:
    """A file for ``dmidecode --from-dump``: entry point at 0, table at 20h."""
    path.write_bytes(entry.ljust(0x20, b"\0") + table)
    return path


def firmware(date: str = "07/15/2021") -> bytes:
    fields = [(4, "B", 1), (5, "B", 2), (6, "H", 0xE000), (8, "B", 3), (9, "B", 0xFF)]
    fields += [(0x14, "B", 1), (0x15, "B", 27), (0x16, "B", 0xFF), (0x17, "B", 0xFF)]
    fields += [(0x18, "H", 32)]
    return structure(0, 0, 0x1A, fields, ("Grauwerk Firmware", "1.27.0", date))


UUID = bytes.fromhex("33221100554477668899aabbccddeeff")
"""{00112233-4455-6677-8899-AABBCCDDEEFF} as it is stored since version 2.6 (DSP0134 7.2.1)."""


def system(uuid: bytes = UUID, serial: str = "TN4711-0815") -> bytes:
    fields: list[Field] = [(4, "B", 1), (5, "B", 2), (6, "B", 3), (7, "B", 4)]
    fields += [(8 + i, "B", b) for i, b in enumerate(uuid)]
    fields += [(0x18, "B", 6), (0x19, "B", 5), (0x1A, "B", 6)]
    strings = ("Talnau", "Wander 14", "Rev 2", serial, "TN-W14", "Wander")
    return structure(1, 1, 0x1B, fields, strings)


def board(serial: str = "BRD-99120") -> bytes:
    fields = [(4 + i, "B", i + 1) for i in range(5)] + [(9, "B", 9), (0x0D, "B", 0x0A)]
    return structure(2, 2, 0x0F, fields, ("Talnau", "TN14-MB", "A1", serial, "ASSET 7"))


def chassis(kind: int = 0x8A, serial: str = "CH-1") -> bytes:
    fields = [(4, "B", 1), (5, "B", kind), (7, "B", 2)]
    return structure(3, 3, 0x15, fields, ("Talnau", serial))


def processor(upgrade: int = 0x06, status: int = 0x41, cores: int = 8) -> bytes:
    fields = [(4, "B", 1), (5, "B", 3), (6, "B", 1), (7, "B", 2), (0x10, "B", 3)]
    fields += [(0x11, "B", 0x80 | 11), (0x12, "H", 100), (0x14, "H", 4400), (0x16, "H", 1800)]
    fields += [(0x18, "B", status), (0x19, "B", upgrade), (0x20, "B", 4), (0x22, "B", 5)]
    fields += [(0x23, "B", min(cores, 255)), (0x24, "B", min(cores, 255)), (0x25, "B", 255)]
    fields += [(0x2A, "H", cores), (0x2C, "H", cores), (0x2E, "H", 2 * cores)]
    strings = ("U3E1", "Rechenwerk", "RW 8500U", "CPU-SN-1", "CPU-PN-1")
    return structure(4, 4, 0x30, fields, strings)


def slot(name: str, usage: int, bus: int, devfn: int, handle: int = 9) -> bytes:
    fields = [(4, "B", 1), (5, "B", 0x15), (6, "B", 0x0A), (7, "B", usage), (9, "H", 1)]
    fields += [(0x0B, "B", 4), (0x0D, "H", 0), (0x0F, "B", bus), (0x10, "B", devfn)]
    return structure(9, handle, 0x11, fields, (name,))


def onboard(name: str, kind: int, enabled: bool, handle: int = 0x29) -> bytes:
    fields = [(4, "B", 1), (5, "B", kind | enabled << 7), (6, "B", 1), (7, "H", 0)]
    fields += [(9, "B", 0), (0x0A, "B", 0xFE)]
    return structure(41, handle, 0x0B, fields, (name,))


def old_onboard(*devices: tuple[str, int, bool], handle: int = 0x0A) -> bytes:
    fields = []
    for n, (_, kind, enabled) in enumerate(devices):
        fields += [(4 + 2 * n, "B", kind | enabled << 7), (5 + 2 * n, "B", n + 1)]
    return structure(10, handle, 4 + 2 * len(devices), fields, [name for name, _, _ in devices])


def array(handle: int = 0x10, use: int = 3, places: int = 2) -> bytes:
    fields = [(4, "B", 3), (5, "B", use), (6, "B", 3), (7, "I", 0x8000_0000)]
    fields += [(0x0B, "H", 0xFFFE), (0x0D, "H", places), (0x0F, "Q", 64 << 30)]
    return structure(16, handle, 0x17, fields)


def memory(
    handle: int,
    locator: str,
    size: int = 0x2000,
    extended: int = 0,
    form: int = 0x0D,
    kind: int = 0x1A,
    serial: str = "4A1B2C3D",
    array_handle: int = 0x10,
    bank: str = "BANK 0",
    speed: int = 3200,
) -> bytes:
    fields = [(4, "H", array_handle), (6, "H", 0xFFFE), (8, "H", 64), (0x0A, "H", 64)]
    fields += [(0x0C, "H", size), (0x0E, "B", form), (0x10, "B", 1), (0x11, "B", 2)]
    fields += [(0x12, "B", kind), (0x13, "H", 0x80), (0x15, "H", speed), (0x17, "B", 3)]
    fields += [(0x18, "B", 6 if serial else 0), (0x19, "B", 4), (0x1A, "B", 5), (0x1B, "B", 2)]
    fields += [(0x1C, "I", extended), (0x20, "H", 2667)]
    fields += [(0x22, "H", 1200), (0x24, "H", 1200), (0x26, "H", 1200)]
    strings = (locator, bank, "Speicherwerk", "AT-1", "SW8G-3200", *([serial] if serial else []))
    return structure(17, handle, 0x28, fields, strings)


def array_range(first_kb: int, last_kb: int, handle: int = 0x13) -> bytes:
    wide = first_kb > 0xFFFF_FFFE or last_kb > 0xFFFF_FFFE
    fields: list[Field] = [(0x0C, "H", 0x10), (0x0E, "B", 2)]
    if wide:
        fields += [(4, "I", 0xFFFF_FFFF), (8, "I", 0xFFFF_FFFF)]
        fields += [(0x0F, "Q", first_kb << 10), (0x17, "Q", (last_kb << 10) + 1023)]
    else:
        fields += [(4, "I", first_kb), (8, "I", last_kb)]
    return structure(19, handle, 0x1F, fields)


def device_range(first_kb: int, last_kb: int, device: int, handle: int = 0x14) -> bytes:
    fields = [(4, "I", first_kb), (8, "I", last_kb), (0x0C, "H", device), (0x0E, "H", 0x13)]
    return structure(20, handle, 0x23, fields)


def battery(handle: int = 0x16) -> bytes:
    """The worked example: capacity 5000 x 10 mWh, made 52EFh, 11400 mV, error at most 5 %."""
    fields = [(4, "B", 1), (5, "B", 2), (8, "B", 3), (9, "B", 2), (0x0A, "H", 5000)]
    fields += [(0x0C, "H", 11400), (0x0E, "B", 4), (0x0F, "B", 5), (0x10, "H", 0x52EF)]
    fields += [(0x12, "H", 0x52EF), (0x14, "B", 5), (0x15, "B", 10)]
    return structure(22, handle, 0x1A, fields, ("Front", "Akkuwerk", "AW-50", "1.1", "LION"))


def laptop() -> bytes:
    """A whole table of an invented laptop: two places for memory, one of them filled."""
    parts = (
        firmware(), system(), board(), chassis(), processor(), slot("M.2 SSD", 4, 2, 0),
        slot("M.2 WLAN", 3, 3, 0, handle=0x0A), array(), memory(0x11, "DIMM A"),
        memory(0x12, "DIMM B", size=0, serial=""), array_range(0, (8 << 20) - 1),
        device_range(0, (8 << 20) - 1, 0x11), battery(), end(),
    )  # fmt: skip
    return b"".join(parts)


LAPTOP_STRUCTURES = 14
