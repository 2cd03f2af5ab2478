"""What an SMBIOS table says, as typed records (DMTF DSP0134).

``None`` means that the table is too old or too short for the field, or that it
gives the code DSP0134 keeps for "unknown". Strings are as the firmware wrote
them; whether one is worth anything is judged elsewhere.
"""

from __future__ import annotations

import msgspec


class EntryPoint(msgspec.Struct, frozen=True, kw_only=True):
    """Where the firmware says its table is (DSP0134 5.2)."""

    version: tuple[int, int]
    table_bytes: int
    """Exact in a 32-bit entry point, an upper limit in a 64-bit one."""
    exact: bool
    structures: int | None
    """Number of structures; a 64-bit entry point does not say."""


class Structure(msgspec.Struct, frozen=True, kw_only=True):
    """Head of every decoded structure."""

    handle: int


class Firmware(Structure, frozen=True, kw_only=True):
    """Type 0."""

    vendor: str | None = None
    version: str | None = None
    date: str | None = None
    """ISO 8601 where it can be read as mm/dd/yyyy, else as written."""
    rom_bytes: int | None = None
    release: str | None = None
    controller_release: str | None = None
    """Release of the embedded controller's firmware."""


class System(Structure, frozen=True, kw_only=True):
    """Type 1."""

    maker: str | None = None
    product: str | None = None
    version: str | None = None
    serial: str | None = None
    uuid: str | None = None
    """Lower case with dashes; None: all bytes FF (not present) or 00 (not set)."""
    sku: str | None = None
    family: str | None = None


class Board(Structure, frozen=True, kw_only=True):
    """Type 2."""

    maker: str | None = None
    product: str | None = None
    version: str | None = None
    serial: str | None = None
    asset: str | None = None
    kind: int | None = None
    """0Ah: motherboard."""


class Chassis(Structure, frozen=True, kw_only=True):
    """Type 3."""

    kind: int | None = None
    maker: str | None = None
    serial: str | None = None


class Processor(Structure, frozen=True, kw_only=True):
    """Type 4."""

    socket: str | None = None
    kind: int | None = None
    """03h: central processor."""
    maker: str | None = None
    version: str | None = None
    volts: float | None = None
    max_mhz: int | None = None
    current_mhz: int | None = None
    populated: bool | None = None
    upgrade: int | None = None
    serial: str | None = None
    part_number: str | None = None
    cores: int | None = None
    cores_enabled: int | None = None
    threads: int | None = None


class CardSlot(Structure, frozen=True, kw_only=True):
    """Type 9."""

    name: str | None = None
    kind: int | None = None
    width: int | None = None
    in_use: bool | None = None
    unavailable: bool | None = None
    """True: the firmware says that it cannot be used."""
    segment: int | None = None
    bus: int | None = None
    devfn: int | None = None


class Onboard(Structure, frozen=True, kw_only=True):
    """Type 41, and each entry of the older type 10."""

    name: str | None = None
    kind: int | None = None
    enabled: bool = True
    segment: int | None = None
    bus: int | None = None
    devfn: int | None = None


class MemoryArray(Structure, frozen=True, kw_only=True):
    """Type 16."""

    location: int | None = None
    use: int | None = None
    """03h: system memory."""
    error_correction: int | None = None
    max_bytes: int | None = None
    places: int | None = None


class MemoryDevice(Structure, frozen=True, kw_only=True):
    """Type 17: one place for memory, and what is in it."""

    array: int | None = None
    """Handle of its MemoryArray."""
    total_bits: int | None = None
    data_bits: int | None = None
    size_bytes: int | None = None
    """0: nothing fitted; None: unknown."""
    form: int | None = None
    locator: str | None = None
    bank: str | None = None
    kind: int | None = None
    speed_mts: int | None = None
    configured_mts: int | None = None
    maker: str | None = None
    serial: str | None = None
    asset: str | None = None
    part_number: str | None = None
    ranks: int | None = None
    min_volts: float | None = None
    max_volts: float | None = None
    configured_volts: float | None = None


class MappedRange(Structure, frozen=True, kw_only=True):
    """Type 19 (of an array) or 20 (of a device): physical addresses, both ends within."""

    first: int | None = None
    last: int | None = None
    owner: int | None = None
    """Handle of the array or device."""


class FirmwareBattery(Structure, frozen=True, kw_only=True):
    """Type 22: the battery the firmware was built or last started with."""

    location: str | None = None
    maker: str | None = None
    made: str | None = None
    serial: str | None = None
    name: str | None = None
    chemistry: str | None = None
    design_mwh: int | None = None
    design_mv: int | None = None
    max_error_percent: int | None = None


class Tables(msgspec.Struct, frozen=True, kw_only=True):
    """One whole table."""

    version: tuple[int, int] | None = None
    firmware: Firmware | None = None
    system: System | None = None
    boards: tuple[Board, ...] = ()
    chassis: Chassis | None = None
    processors: tuple[Processor, ...] = ()
    slots: tuple[CardSlot, ...] = ()
    onboard: tuple[Onboard, ...] = ()
    arrays: tuple[MemoryArray, ...] = ()
    memory: tuple[MemoryDevice, ...] = ()
    array_ranges: tuple[MappedRange, ...] = ()
    device_ranges: tuple[MappedRange, ...] = ()
    batteries: tuple[FirmwareBattery, ...] = ()
    structures: int = 0
    """Number of all structures read, decoded or not."""
    damage: tuple[str, ...] = ()
    """Sentences: where the table breaks DSP0134's rules."""
