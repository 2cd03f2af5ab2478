"""Builds PCI configuration space (register layout: linux/pci_regs.h)."""

from __future__ import annotations

import struct

ENDPOINT = 0
ROOT_PORT = 4
SPEED_CODES = {2.5: 1, 5.0: 2, 8.0: 3, 16.0: 4}


def plain(pci_id: str, class_code: int, bridge_to: int | None = None) -> bytearray:
    """A function without capabilities, 256 bytes; ``bridge_to`` is the bus behind it."""
    config = bytearray(256)
    vendor, device = (int(word, 16) for word in pci_id.split(":"))
    struct.pack_into("<HHHH", config, 0, vendor, device, 0x0006, 0x0010)
    config[9:12] = class_code.to_bytes(3, "little")
    config[0x0E] = 1 if bridge_to is not None else 0
    if bridge_to is not None:
        config[0x18:0x1B] = bytes([0, bridge_to, bridge_to])
    return config


def express(
    pci_id: str,
    class_code: int,
    kind: int = ENDPOINT,
    bridge_to: int | None = None,
    now: tuple[float, int] = (2.5, 1),
    most: tuple[float, int] = (2.5, 1),
    slot: int | None = None,
    presence: bool = False,
    active: bool = True,
    device_status: int = 0,
    correctable: int = 0,
    uncorrectable: int = 0,
) -> bytes:
    """A PCI Express function with error reporting, 4096 bytes. Links are (GT/s, lanes)."""
    config = plain(pci_id, class_code, bridge_to) + bytearray(4096 - 256)
    config[0x34] = 0x40
    flags = 2 | kind << 4 | (0x100 if slot is not None else 0)
    link_caps = SPEED_CODES[most[0]] | most[1] << 4 | 0x100000
    link_status = SPEED_CODES[now[0]] | now[1] << 4 | (0x2000 if active else 0)
    struct.pack_into(
        "<BBHIHHIHH", config, 0x40, 0x10, 0, flags, 0, 0, device_status, link_caps, 0, link_status
    )
    if slot is not None:
        struct.pack_into("<IHH", config, 0x54, slot << 19, 0, 0x40 if presence else 0)
    struct.pack_into("<I", config, 0x100, 0x0001 | 2 << 16)
    struct.pack_into("<IIIII", config, 0x104, uncorrectable, 0, 0, correctable, 0)
    return bytes(config)
