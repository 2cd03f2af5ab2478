"""PCI configuration space, decoded: link, slot, device status, error reporting.

Pure: bytes in, records out. Register layout by the Linux UAPI header
``linux/pci_regs.h``. Speeds are GT/s. An ordinary user is given the first 64
bytes only, which hold no capability; all that lies beyond is then None.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck.records import Record

CAP_EXPRESS: Final = 0x10

EXT_AER: Final = 0x0001

EXT_SERIAL: Final = 0x0003

SPEEDS_GTS: Final = {1: 2.5, 2: 5.0, 3: 8.0, 4: 16.0, 5: 32.0, 6: 64.0}

ROOT_PORT: Final = "root port"

UPSTREAM: Final = "upstream port"

DOWNSTREAM: Final = "downstream port"

PORT_TYPES: Final = {
    0: "endpoint",
    1: "legacy endpoint",
    4: ROOT_PORT,
    5: UPSTREAM,
    6: DOWNSTREAM,
    7: "bridge to PCI",
    8: "bridge from PCI",
    9: "integrated endpoint",
    10: "event collector",
}


class LinkRegisters(Record, frozen=True, kw_only=True):
    """One end of a PCI Express link: what it can and what it runs at."""

    speed_gts: float | None
    width: int
    max_speed_gts: float | None
    max_width: int
    active: bool | None
    """Data link layer active; None: this end does not report it."""


class SlotRegisters(Record, frozen=True, kw_only=True):
    """Slot registers of a port whose link ends in a slot."""

    number: int
    presence: bool
    """Presence Detect State."""
    hot_plug: bool


class ErrorReporting(Record, frozen=True, kw_only=True):
    """Advanced Error Reporting capability: status and mask registers."""

    uncorrectable: int
    uncorrectable_mask: int
    severity: int
    correctable: int
    correctable_mask: int
    root_status: int | None = None


class Function(Record, frozen=True, kw_only=True):
    """What a function's configuration space says."""

    vendor: int
    device: int
    class_code: int
    """Class, subclass and programming interface, 24 bits."""
    subsystem: tuple[int, int] | None
    bridge: bool
    secondary_bus: int | None
    port_type: str | None = None
    """A value of PORT_TYPES; None: no PCI Express capability, or not allowed to read it."""
    link: LinkRegisters | None = None
    slot: SlotRegisters | None = None
    slot_implemented: bool | None = None
    device_status: int | None = None
    errors: ErrorReporting | None = None
    serial_number: str | None = None
    """Device Serial Number capability as sixteen hex digits."""


def decode(config: bytes) -> Function | None:
    """Decode 64, 256 or 4096 bytes; None when nothing answers (all ones) or too short."""
    if len(config) < 64 or config[:4] == b"\xff\xff\xff\xff":
        return None
    vendor, device = struct.unpack_from("<HH", config, 0)
    bridge = config[0x0E] & 0x7F == 1
    found = Function(
        vendor=vendor,
        device=device,
        class_code=int.from_bytes(config[0x09:0x0C], "little"),
        subsystem=None if bridge else struct.unpack_from("<HH", config, 0x2C),
        bridge=bridge,
        secondary_bus=config[0x19] if bridge else None,
    )
    express = dict(capabilities(config)).get(CAP_EXPRESS)
    if express is None or express + 0x14 > len(config):
        return found
    extended = dict(extended_capabilities(config))
    return _with_express(found, config, express, extended)


def _with_express(plain: Function, config: bytes, at: int, extended: dict[int, int]) -> Function:
    flags, _, _, status, link_caps, _, link_status = struct.unpack_from("<HIHHIHH", config, at + 2)
    port_type = PORT_TYPES.get(flags >> 4 & 0xF, "unknown")
    has_link = port_type not in ("integrated endpoint", "event collector")
    is_port = port_type in (ROOT_PORT, DOWNSTREAM)
    implemented = bool(flags & 0x100) if is_port else None
    return msgspec.structs.replace(
        plain,
        port_type=port_type,
        link=_link(link_caps, link_status) if has_link else None,
        slot=_slot(config, at) if implemented else None,
        slot_implemented=implemented,
        device_status=status,
        errors=_errors(config, extended.get(EXT_AER), port_type == ROOT_PORT),
        serial_number=_serial(config, extended.get(EXT_SERIAL)),
    )


def _link(caps: int, status: int) -> LinkRegisters:
    return LinkRegisters(
        speed_gts=SPEEDS_GTS.get(status & 0xF),
        width=status >> 4 & 0x3F,
        max_speed_gts=SPEEDS_GTS.get(caps & 0xF),
        max_width=caps >> 4 & 0x3F,
        active=bool(status & 0x2000) if caps & 0x100000 else None,
    )


def _slot(config: bytes, at: int) -> SlotRegisters | None:
    if at + 0x1C > len(config):
        return None
    caps, _, status = struct.unpack_from("<IHH", config, at + 0x14)
    return SlotRegisters(
        number=caps >> 19, presence=bool(status & 0x40), hot_plug=bool(caps & 0x40)
    )


def _errors(config: bytes, at: int | None, root: bool) -> ErrorReporting | None:
    if at is None or at + 0x18 > len(config):
        return None
    status, mask, severity, correctable, correctable_mask = struct.unpack_from(
        "<5I", config, at + 4
    )
    root_status = None
    if root and at + 0x34 <= len(config):
        (root_status,) = struct.unpack_from("<I", config, at + 0x30)
    return ErrorReporting(
        uncorrectable=status,
        uncorrectable_mask=mask,
        severity=severity,
        correctable=correctable,
        correctable_mask=correctable_mask,
        root_status=root_status,
    )


def _serial(config: bytes, at: int | None) -> str | None:
    if at is None or at + 12 > len(config):
        return None
    low, high = struct.unpack_from("<II", config, at + 4)
    return f"{high:08x}{low:08x}" if (high, low) != (0, 0) else None


def capabilities(config: bytes) -> Iterator[tuple[int, int]]:
    """(id, offset) of each capability of the first 256 bytes, in list order."""
    (status,) = struct.unpack_from("<H", config, 6)
    if not status & 0x10:
        return
    seen: set[int] = set()
    at = config[0x34] & 0xFC
    while at >= 0x40 and at + 2 <= min(len(config), 256) and at not in seen:
        seen.add(at)
        if config[at] == 0xFF:
            return
        yield config[at], at
        at = config[at + 1] & 0xFC


def extended_capabilities(config: bytes) -> Iterator[tuple[int, int]]:
    """(id, offset) of each extended capability, the first only where an id appears twice."""
    at = 0x100
    offsets: set[int] = set()
    ids: set[int] = set()
    while at >= 0x100 and at + 4 <= len(config) and at not in offsets:
        offsets.add(at)
        (header,) = struct.unpack_from("<I", config, at)
        if header in (0, 0xFFFFFFFF):
            return
        if header & 0xFFFF not in ids:
            ids.add(header & 0xFFFF)
            yield header & 0xFFFF, at
        at = header >> 20 & 0xFFC
