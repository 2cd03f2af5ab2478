"""Bits of PCI Express status registers and their names (``linux/pci_regs.h``)."""

from __future__ import annotations

from typing import Final

DEVICE_STATUS: Final = {
    0: "correctable error",
    1: "non-fatal error",
    2: "fatal error",
    3: "unsupported request",
}
"""Error bits of the Device Status register; they stay set until someone clears them."""

CORRECTABLE: Final = {
    0: "RxErr",
    6: "BadTLP",
    7: "BadDLLP",
    8: "Rollover",
    12: "Timeout",
    13: "NonFatalErr",
    14: "CorrIntErr",
    15: "HeaderOF",
}

UNCORRECTABLE: Final = {
    0: "Undefined",
    4: "DLP",
    5: "SDES",
    12: "TLP",
    13: "FCP",
    14: "CmpltTO",
    15: "CmpltAbrt",
    16: "UnxCmplt",
    17: "RxOF",
    18: "MalfTLP",
    19: "ECRC",
    20: "UnsupReq",
    21: "ACSViol",
    22: "UncorrIntErr",
    23: "BlockedTLP",
    24: "AtomicOpBlocked",
    25: "TLPBlockedErr",
    26: "PoisonTLPBlocked",
}
"""Bit -> name as the kernel prints it (drivers/pci/pcie/aer.c)."""


def named_bits(value: int, names: dict[int, str]) -> tuple[str, ...]:
    """Names of the bits that are set."""
    return tuple(name for bit, name in names.items() if value >> bit & 1)
