"""SMBIOS structures for memory (DSP0134 3.7, types 16, 17 and 20), which QEMU takes as files."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Final

from tests.virtual_laptop.laptop import MODULE_SLOTS, Laptop, Module

ARRAY: Final = 0x1000
"""The handle QEMU's own type 19 names, which it makes in any case; 2000h is its type 32."""
FIRST_DEVICE: Final = 0x1100
NOT_PROVIDED: Final = 0xFFFE
SYSTEM_BOARD, SYSTEM_MEMORY, NO_CORRECTION = 3, 3, 3
SODIMM, DDR4 = 0x0D, 0x1A


def write(folder: Path, laptop: Laptop) -> list[str]:
    """The options that give a guest the laptop's modules, for files put into the folder."""
    options = []
    for number, blob in enumerate(memory(laptop)):
        file = folder / f"smbios-{number}.bin"
        file.write_bytes(blob)
        options += ["-smbios", f"file={file}"]
    return options


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
