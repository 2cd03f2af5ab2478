"""SMBIOS structures of card slots and memory (DSP0134 3.7, types 9, 16, 17 and 20).

QEMU takes them as files.
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Final

from tests.virtual_laptop.laptop import MODULE_SLOTS, ROOT_PORTS, Laptop, Module

ARRAY: Final = 0x1000
"""The handle QEMU's own type 19 names, which it makes in any case; 2000h is its type 32."""
FIRST_DEVICE: Final = 0x1100
NOT_PROVIDED: Final = 0xFFFE
SYSTEM_BOARD, SYSTEM_MEMORY, NO_CORRECTION = 3, 3, 3
SODIMM, DDR4 = 0x0D, 0x1A
SOCKET_E, SOCKET_M = 0x15, 0x17
SLOTS: Final = (("M.2 SSD", SOCKET_M), ("M.2 WLAN", SOCKET_E))
"""What is printed beside the slot of each root port, and its connector (7.10.1)."""
ONE_LANE, USE_UNKNOWN, OTHER_LENGTH = 0x08, 2, 1


def write(folder: Path, laptop: Laptop) -> list[str]:
    """The options that give a guest the laptop's slots and modules."""
    return given(folder, [*slots(), *memory(laptop)])


def given(folder: Path, blobs: list[bytes]) -> list[str]:
    """The options that give a guest these structures, for files put into the folder."""
    options = []
    for number, blob in enumerate(blobs):
        file = folder / f"smbios-{number}.bin"
        file.write_bytes(blob)
        options += ["-smbios", f"file={file}"]
    return options


def slots() -> list[bytes]:
    """The board's M.2 slots, each by the port above it; they stay whatever is fitted."""
    blobs = []
    for number, (port, (name, connector)) in enumerate(zip(ROOT_PORTS, SLOTS, strict=True)):
        device, _, function = port.rpartition(":")[2].partition(".")
        devfn = int(device, 16) << 3 | int(function, 16)
        body = struct.pack("<BBBBBHBB", 1, connector, ONE_LANE, USE_UNKNOWN, OTHER_LENGTH,
                           number + 1, 0, 0)  # fmt: skip
        body += struct.pack("<HBB", 0, 0, devfn)
        blobs.append(_structure(9, 0x0900 + number, body, (name,)))
    return blobs


def memory(laptop: Laptop) -> list[bytes]:
    """The array, a device a slot, and for each module the addresses it answers at.

    QEMU makes no structure of its own of a type it is given, so all are given.
    """
    most = struct.pack("<I", 32 << 20)
    array = struct.pack("<BBB", SYSTEM_BOARD, SYSTEM_MEMORY, NO_CORRECTION) + most
    array += struct.pack("<HHQ", NOT_PROVIDED, len(MODULE_SLOTS), 0)
    blobs = [_structure(16, ARRAY, array, ())]
    start = 0
    for index, name in enumerate(MODULE_SLOTS):
        module = laptop.fitted.get(f"dimm:{index}")
        assert module is None or isinstance(module, Module)
        blobs.append(_device(index, name, module))
        if module is not None:
            blobs.append(_range(index, start, module.mib << 20))
            start += module.mib << 20
    return blobs


def _structure(kind: int, handle: int, body: bytes, strings: tuple[str, ...]) -> bytes:
    texts = b"".join(text.encode() + b"\0" for text in strings) or b"\0"
    return struct.pack("<BBH", kind, 4 + len(body), handle) + body + texts + b"\0"


def _device(index: int, slot: str, module: Module | None) -> bytes:
    strings: tuple[str, ...] = (slot, f"BANK {index}")
    if module is not None:
        strings += (module.maker, module.serial, f"QL-{module.mib}")
    named = (3, 4, 0, 5) if module is not None else (0, 0, 0, 0)
    body = struct.pack(
        "<HHHHHBBBBBHH4BBIHHHH",
        ARRAY, NOT_PROVIDED, 64, 64, module.mib if module else 0, SODIMM, 0, 1, 2, DDR4, 0x80, 2400,
        *named, 1, 0, 2400, 1200, 1200, 1200,
    )  # fmt: skip
    return _structure(17, FIRST_DEVICE + index, body, strings)


def _range(index: int, start: int, size: int) -> bytes:
    """Addresses in KiB, both ends within (DSP0134 7.21)."""
    first, last = start >> 10, (start + size - 1) >> 10
    body = struct.pack("<IIHHBBBQQ", first, last, FIRST_DEVICE + index, 0x1300, 1, 0, 0, 0, 0)
    return _structure(20, 0x2200 + index, body, ())
