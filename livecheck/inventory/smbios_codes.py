"""Codes of SMBIOS structures and what they mean (DMTF DSP0134)."""

from __future__ import annotations

from typing import Final

CENTRAL_PROCESSOR: Final = 3

MOTHERBOARD: Final = 0x0A

SYSTEM_MEMORY: Final = 3

CHASSIS: Final = {
    1: "other", 2: "unknown", 3: "desktop", 4: "low-profile desktop", 5: "pizza box",
    6: "mini tower", 7: "tower", 8: "portable", 9: "laptop", 10: "notebook", 11: "hand held",
    12: "docking station", 13: "all in one", 14: "sub notebook", 15: "space-saving",
    16: "lunch box", 17: "main server chassis", 18: "expansion chassis", 19: "sub chassis",
    20: "bus expansion chassis", 21: "peripheral chassis", 22: "RAID chassis",
    23: "rack mount chassis", 24: "sealed-case PC", 25: "multi-system", 26: "CompactPCI",
    27: "AdvancedTCA", 28: "blade", 29: "blade enclosing", 30: "tablet", 31: "convertible",
    32: "detachable", 33: "IoT gateway", 34: "embedded PC", 35: "mini PC", 36: "stick PC",
}  # fmt: skip
"""DSP0134 7.4.1."""

FORMS: Final = {
    1: "other", 2: "unknown", 3: "SIMM", 4: "SIP", 5: "chip", 6: "DIP", 7: "ZIP",
    8: "proprietary card", 9: "DIMM", 10: "TSOP", 11: "row of chips", 12: "RIMM",
    13: "SODIMM", 14: "SRIMM", 15: "FB-DIMM", 16: "die",
}  # fmt: skip
"""Form factors of memory (DSP0134 7.18.1)."""

SOLDERED_FORMS: Final = frozenset({5, 10, 11, 16})
"""Chips without a carrier that could be taken out."""

MEMORY_KINDS: Final = {
    1: "other", 2: "unknown", 3: "DRAM", 4: "EDRAM", 5: "VRAM", 6: "SRAM", 7: "RAM", 8: "ROM",
    9: "flash", 10: "EEPROM", 11: "FEPROM", 12: "EPROM", 13: "CDRAM", 14: "3DRAM", 15: "SDRAM",
    16: "SGRAM", 17: "RDRAM", 18: "DDR", 19: "DDR2", 20: "DDR2 FB-DIMM", 24: "DDR3",
    25: "FBD2", 26: "DDR4", 27: "LPDDR", 28: "LPDDR2", 29: "LPDDR3", 30: "LPDDR4",
    31: "logical non-volatile device", 32: "HBM", 33: "HBM2", 34: "DDR5", 35: "LPDDR5",
}  # fmt: skip
"""DSP0134 7.18.2."""

SOLDERED_SOCKETS: Final = frozenset(
    {0x06, 0x20, 0x22, 0x23, 0x2E, 0x2F, 0x30, 0x33, 0x34, 0x35, 0x3A, 0x3B, 0x3C}
    | {0x41, 0x42, 0x43, 0x44}
)
"""Processor upgrades (DSP0134 7.5.5) that are no socket: "none" and every ball grid."""

CHEMISTRY: Final = {
    1: "other", 2: "unknown", 3: "lead acid", 4: "nickel cadmium", 5: "nickel metal hydride",
    6: "lithium ion", 7: "zinc air", 8: "lithium polymer",
}  # fmt: skip
"""DSP0134 7.23.1."""
